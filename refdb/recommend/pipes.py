"""Rule `printed-dimensions/1`: one row per system, size and wall, with the numbers printed in each unit."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from itertools import chain

from refdb.recommend.evidence import weakest_basis, weakest_seen
from refdb.records import digest
from refdb.records.models import SEEN_ORDER, Input, LeftOut, PipeReading, PrintedDimensions, RecommendedPipe
from refdb.records.rules import PRINTED_DIMENSIONS


def recommend_pipes(readings: Sequence[PipeReading]) -> list[RecommendedPipe]:
    """One row per pipe id, from readings without doubts."""
    by_pipe: dict[str, list[PipeReading]] = defaultdict(list)
    for reading in readings:
        by_pipe[reading.pipe].append(reading)
    rows = [_row(pipe, sorted(members, key=_rank)) for pipe, members in sorted(by_pipe.items())]
    return [row for row in rows if row is not None]


def _rank(reading: PipeReading) -> tuple[int, str]:
    return SEEN_ORDER.index(reading.seen), reading.id


def _row(pipe: str, readings: list[PipeReading]) -> RecommendedPipe | None:
    usable = [reading for reading in readings if not reading.doubts]
    if not usable:
        return None
    first = usable[0]
    sizes = [reading.size for reading in usable]
    return RecommendedPipe(
        id=pipe,
        system=first.system,
        size={word: text for size in reversed(sizes) for word, text in size.items()},
        designations=list(dict.fromkeys(chain.from_iterable(reading.designations or [] for reading in usable))),
        dimensions=_dimensions(usable),
        rule=PRINTED_DIMENSIONS.name,
        basis=weakest_basis(reading.basis for reading in usable),
        seen=weakest_seen(reading.seen for reading in usable),
        rung="published",
        inputs=[Input(id=reading.id, digest=digest(reading.plain())) for reading in usable],
        left_out=[
            LeftOut(
                id=reading.id,
                digest=digest(reading.plain()),
                reason="; ".join(f"{flag.code}: {flag.text}" for flag in reading.doubts),
                value=reading.wall,
            )
            for reading in readings
            if reading.doubts
        ]
        or None,
    )


def _dimensions(usable: list[PipeReading]) -> list[PrintedDimensions]:
    """The best-seen printed pair of each unit, with every reading that prints the same pair."""
    by_unit: dict[str, list[PipeReading]] = defaultdict(list)
    for reading in usable:
        by_unit[reading.unit].append(reading)
    return [
        PrintedDimensions(
            unit=unit,
            outside_diameter=members[0].outside_diameter,
            wall=members[0].wall,
            readings=[
                reading.id
                for reading in members
                if float(reading.outside_diameter) == float(members[0].outside_diameter)
                and float(reading.wall) == float(members[0].wall)
            ],
        )
        for unit, members in sorted(by_unit.items())
    ]
