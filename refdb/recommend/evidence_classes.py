"""Classes of evidence about solids: from a measurement that says how well it measured to a simulation's input.

Which class a reading belongs to is a written rule (`sources/rules/evidence.toml`): the class that names its document,
else the first that fits what the document is and how the number came about.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from refdb.recommend.policy import EvidenceClass
from refdb.records.models import Basis, PropertyReading, Source

UNKNOWN = "not classed"
"""Of a reading that no written class takes: it gives way to nothing, and is taken to be as good as the best."""
STATED = ("standard", "expanded")
"""Kinds of stated uncertainty that say how well something was measured."""
MEASURING: tuple[Basis, ...] = ("measured", "computed")


@dataclass(frozen=True, slots=True)
class EvidenceClasses:
    """The written classes, best first, and what every document is."""

    classes: Sequence[EvidenceClass]
    sources: Mapping[str, Source]

    def of(self, reading: PropertyReading) -> str:
        """The name of the class that a reading belongs to."""
        source = self.sources[reading.source]
        stated = reading.stated_uncertainty
        if self.classes and reading.basis in MEASURING and stated is not None and stated.kind in STATED:
            return self.classes[0].name
        named = (entry.name for entry in self.classes if source.id in entry.documents)
        fitting = (entry.name for entry in self.classes if any(one.fits(reading, source) for one in entry.of))
        return next(named, next(fitting, UNKNOWN))

    def founded(self, readings: Sequence[PropertyReading]) -> bool:
        """Whether any of some readings is more than a program's default or a simulation's input."""
        unfounded = {entry.name for entry in self.classes if entry.unfounded}
        return any(self.of(reading) not in unfounded for reading in readings)

    def gives_way(self, at_hand: Iterable[tuple[str, str]]) -> dict[str, str]:
        """Of classes that are all at hand, those that give way, each with the best that it gives way to.

        Args:
            at_hand: the class and the document of everything that can be used.
        """
        lineages: dict[str, set[str]] = defaultdict(set)
        for name, source in at_hand:
            lineages[name].add(self.sources[source].lineage or source)
        found: dict[str, str] = {}
        for entry in self.classes:
            better = [name for name in entry.gives_way_to if name in lineages]
            independent = set().union(*(lineages[name] for name in better))
            if entry.name in lineages and better and len(independent) >= entry.beside:
                found[entry.name] = better[0]
        return found
