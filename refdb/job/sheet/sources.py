"""Where the inputs of a sheet come from: a number in the table, the document at the end of the page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from markupsafe import Markup

from refdb.job.sheet import markup

_WORDS = {"given": "given", "row": "row", "default": "taken for granted"}


class Sources:
    """The documents behind a page, numbered as they come."""

    def __init__(self) -> None:
        self._numbers: dict[str, int] = {}

    def origin(self, item: Mapping[str, Any]) -> Markup:
        """Where an input comes from, with links to the documents at the end."""
        if item["row"] is None:
            return Markup("{}").format(item["text"] or _WORDS[item["origin"]])
        links = Markup(" ").join(self._link(source) for source in item["sources"])
        return Markup("row {} {}").format(item["row"]["id"], links)

    def _link(self, source: Mapping[str, Any]) -> Markup:
        copy = source.get("reproduced_in")
        seen = f"as reproduced in {copy}" if copy else None
        words = ", ".join(filter(None, (source.get("citation"), seen, source.get("locator"))))
        number = self._numbers.setdefault(words, len(self._numbers) + 1)
        return Markup('<a href="#source-{0}">[{0}]</a>').format(number)

    def listed(self) -> list[Markup | None]:
        """The documents, each with its number."""
        if not self._numbers:
            return []
        items = [Markup('<li id="source-{}">{}</li>').format(n, words) for words, n in self._numbers.items()]
        return [markup.heading("Sources"), Markup('<ol class="small">{}</ol>').format(Markup("").join(items))]
