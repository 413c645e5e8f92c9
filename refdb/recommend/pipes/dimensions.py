"""Rules `printed-dimensions/1` and `/2`: one row per system, size and wall, with the numbers printed in each unit."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from itertools import chain

from refdb.recommend.evidence import weakest_basis, weakest_seen
from refdb.recommend.pipes.printed import doubts_of, in_order_of_trust, left_out, same_number, used
from refdb.records.models import LeftOut, PipeReading, PrintedDimensions, RecommendedPipe
from refdb.records.rules import PRINTED_DIMENSIONS, PRINTED_PIPES

RECALLED = "recalled; a document that prints this pipe was seen"


def recommend_pipes(readings: Sequence[PipeReading]) -> list[RecommendedPipe]:
    """One row per pipe id, from readings without doubts."""
    by_pipe: dict[str, list[PipeReading]] = defaultdict(list)
    for reading in readings:
        by_pipe[reading.pipe].append(reading)
    rows = [_row(pipe, in_order_of_trust(members)) for pipe, members in sorted(by_pipe.items())]
    return [row for row in rows if row is not None]


def _row(pipe: str, readings: list[PipeReading]) -> RecommendedPipe | None:
    sound = [reading for reading in readings if not reading.doubts]
    seen = [reading for reading in sound if reading.seen != "memory"]
    usable = seen or sound
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
        rule=(PRINTED_DIMENSIONS if all(map(_plain, readings)) else PRINTED_PIPES).name,
        basis=weakest_basis(reading.basis for reading in usable),
        seen=weakest_seen(reading.seen for reading in usable),
        rung="published" if seen else "memory",
        inputs=[used(reading) for reading in usable],
        left_out=_left_out(readings, usable) or None,
    )


def _left_out(readings: list[PipeReading], usable: list[PipeReading]) -> list[LeftOut]:
    return [
        left_out(reading, doubts_of(reading) or RECALLED, reading.wall) for reading in readings if reading not in usable
    ]


def _plain(reading: PipeReading) -> bool:
    """Whether the first version of the rule says all there is to say."""
    extras = (reading.outside_diameter_is, reading.wall_is, reading.inside_diameter)
    return reading.wall is not None and reading.seen != "memory" and not any(extras)


def _dimensions(usable: list[PipeReading]) -> list[PrintedDimensions]:
    """The best-seen print of each unit and kind of wall, with every reading that prints the same."""
    by_print: dict[tuple[str, str, str], list[PipeReading]] = defaultdict(list)
    for reading in usable:
        wall_kind = reading.wall_is or ("" if reading.wall is not None else "none")
        by_print[reading.unit, wall_kind, reading.outside_diameter_is or ""].append(reading)
    return [_printed(members) for _, members in sorted(by_print.items())]


def _printed(members: list[PipeReading]) -> PrintedDimensions:
    first = members[0]
    return PrintedDimensions(
        unit=first.unit,
        outside_diameter=first.outside_diameter,
        outside_diameter_is=first.outside_diameter_is,
        wall=first.wall,
        wall_is=first.wall_is,
        inside_diameter=first.inside_diameter,
        readings=[reading.id for reading in members if _same_print(reading, first)],
    )


def _same_print(one: PipeReading, other: PipeReading) -> bool:
    names = ("outside_diameter", "wall", "inside_diameter")
    return all(same_number(getattr(one, name), getattr(other, name)) for name in names)
