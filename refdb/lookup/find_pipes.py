"""Pipes by the words people write: `NPS 8 sch 40`, `DN200 K9`, `SDR 11 110`, `22 mm copper`.

Likeness of letters misleads here, since sizes and walls are numbers: every word and every number that is asked for
must be one of the pipe's own, or of its system's.
"""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from refdb.lookup.store import StoredRecord
from refdb.records.names import designation_words, size_words
from refdb.vocabulary import systems

_TOKEN = re.compile(r"\d+(?:[./]\d+)*|[^\W\d_]+")
_SAME = {"schedule": "sch", "inch": "in", "inches": "in", "″": "in", "dr": "sdr", "pipe": "", "tube": "", "size": ""}
_INCH = "in"
_UNITS = frozenset({"", _INCH, "mm"})
"""Words that tell no pipe from another."""

Pair = tuple[str, str]


def tokens(text: str) -> list[str]:
    """The words and numbers of a text, in one spelling: `DN200` is two, `Sch.` is `sch`, `"` is `in`."""
    folded = unicodedata.normalize("NFKC", text).casefold().replace('"', " in ")
    return [_SAME.get(found, found) for found in _TOKEN.findall(folded)]


@dataclass(frozen=True, slots=True)
class PipeTokens:
    """One pipe: what it is called, and which of its words and numbers stand beside one another."""

    record: StoredRecord
    name: str
    pairs: frozenset[Pair]
    order: tuple[bool, int, int]


class PipeNames:
    """The pipes of a release by their tokens."""

    def __init__(self, records: Sequence[StoredRecord]) -> None:
        usual = {system: place for place, system in enumerate(systems())}
        shared = {system: _system_tokens(system) for system in usual}
        self._pipes: list[PipeTokens] = []
        self._having: dict[str, set[int]] = defaultdict(set)
        for record in records:
            phrases = _phrases(record.body)
            for token in {token for phrase in phrases for token in phrase} | shared[record.body["system"]]:
                self._having[token].add(len(self._pipes))
            pairs = frozenset(pair for phrase in phrases for pair in pairwise(phrase))
            size_length = min(map(len, phrases[1 : 1 + len(record.body["size"])]))
            order = (len(record.body["designations"]) == 0, size_length, usual[record.body["system"]])
            self._pipes.append(PipeTokens(record, pipe_name(record.body), pairs, order))

    def fitting(self, text: str, limit: int) -> list[PipeTokens]:
        """The pipes that have every word and number of the text, a number at least.

        Those in which most of them stand beside one another as they were written come first.
        """
        written = tokens(text)
        asked = [token for token in written if token not in _UNITS]
        if not any(token[0].isdigit() for token in asked):
            return []
        common = set.intersection(*(self._having.get(token, set()) for token in asked))
        wanted = {*pairwise(asked), *_inch_pairs(written)}
        ranked = sorted(
            common, key=lambda index: (-len(wanted & self._pipes[index].pairs), self._pipes[index].order, index)
        )
        return [self._pipes[index] for index in ranked[:limit]]


def pipe_name(body: dict[str, Any]) -> str:
    """A pipe in the trade's words, such as `B36.10 NPS 8 Sch 40`: its system's own size word, a wall by its number."""
    sizes = body["size"]
    word = next((word for word in systems()[body["system"]]["size_words"] if word in sizes), next(iter(sizes)))
    words = sorted(body["designations"], key=lambda text: not text[:1].isdigit())
    return " ".join(
        [body["system"].upper(), size_words(word, sizes[word]), *map(designation_words, words[:1]), *_wall(body)]
    )


def _wall(body: dict[str, Any]) -> list[str]:
    """The wall itself, of a pipe whose standard has no word for it."""
    printed = next((entry for entry in body["dimensions"] if "wall" in entry), None)
    return [] if body["designations"] or printed is None else [f"wall {printed['wall']} {printed['unit']}"]


def _phrases(body: dict[str, Any]) -> list[list[str]]:
    """The words of a pipe that belong together: its system, each of its sizes, each word for its wall."""
    sizes = [size_words(word, text) for word, text in body["size"].items()]
    return [tokens(text) for text in (body["system"], *sizes, *map(designation_words, body["designations"]))]


def _inch_pairs(written: Sequence[str]) -> list[Pair]:
    """A number followed by an inch sign is an NPS before it is anything else."""
    return [("nps", number) for number, after in pairwise(written) if after == _INCH]


def _system_tokens(system: str) -> set[str]:
    definition = systems()[system]
    words = [definition["name"], definition["standard"], *definition["names"]]
    material = {token for token in tokens(definition["material"].replace("-", " ")) if token.isalpha()}
    return {token for text in words for token in tokens(text.replace("-", " "))} | material - _UNITS
