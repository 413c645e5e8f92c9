"""What documents descend from: declared by hand, or told by more equal digits than chance explains."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from refdb.recommend.policy import SharedLineage
from refdb.records.models import Source

EQUAL = 1e-9
"""Relative difference below which two numbers in SI are the same printed number."""


class Lineages:
    """Which documents count once: always where that is declared, and for equal numbers where their tables coincide.

    Args:
        shared: pairs of documents whose tables coincide, and with them their lineages. They were copied row by row:
            where two differ, one has its number from elsewhere.
    """

    def __init__(self, sources: Iterable[Source], shared: Sequence[SharedLineage] = ()) -> None:
        self._declared = {source.id: source.lineage or source.id for source in sources}
        self._shared = {
            frozenset(self._declared.get(name, name) for name in pair.documents): pair.words() for pair in shared
        }

    def of(self, source: str) -> str:
        """The declared lineage of a document; its own name where none is."""
        return self._declared[source]

    def copied(self, one: str, other: str, value: float, others: float) -> str | None:
        """Why two documents count once for a number that both print, or None where they do not.

        Args:
            value: what the first prints, `others` what the other prints, both in SI.
        """
        if abs(value - others) > EQUAL * abs(value):
            return None
        return self._shared.get(frozenset((self.of(one), self.of(other))))
