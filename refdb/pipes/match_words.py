"""A match in plain words: what each outcome is, what cannot be told apart, and which measurement would tell."""

from __future__ import annotations

import math

import numpy as np

from refdb.pipes.outcomes import PipeMatchItem, PipeOutcomes, PipeSize
from refdb.pipes.posterior import spread
from refdb.vocabulary import systems

RIVAL = 0.05
"""An outcome at least this probable is worth telling apart."""
APART = 3.0
"""Diameters that differ by less than this many standard deviations of both overlap."""
LINED = frozenset({"ductile-iron", "cast-iron"})
MOST_NAMES = 4


def item_words(match: PipeOutcomes, item: PipeMatchItem) -> str:
    """What an outcome is, in a sentence."""
    tail = {
        "pipe": "",
        "size": ", wall not measured",
        "worn": ", with a worn wall or one that is not in the standard: take the bore as measured",
        "none": "",
    }[item.outcome]
    return f"{names_words(match, item)}{tail} (probability {item.probability:.2f})"


def names_words(match: PipeOutcomes, item: PipeMatchItem) -> str:
    """The names of an outcome."""
    if item.outcome == "none":
        return "none of the pipes here"
    names = list(dict.fromkeys(match.known.words(name.row) for name in item.names))
    more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
    words = f"{', '.join(names[:MOST_NAMES])}{more}"
    records = match.known.records
    designations = dict.fromkeys(word for name in item.names for word in records[name.row].body["designations"])
    return f"{words}: {', '.join(designations)}" if designations and item.outcome == "pipe" else words


def advice(match: PipeOutcomes) -> list[str]:
    """What cannot be told apart, and which measurement would tell."""
    lines = [*_none_words(match), *_between_sizes(match), *_between_walls(match), *_worn_words(match)]
    lines += _lining_words(match)
    return lines


def _none_words(match: PipeOutcomes) -> list[str]:
    none = next(item.probability for item in match.items if item.outcome == "none")
    if none < 0.5:
        return []
    return [
        f"Probably none of the pipes here ({none:.2f}): measure again, look for paint or a lagging under the tape, and "
        "take outside diameter and wall as measured."
    ]


def _between_sizes(match: PipeOutcomes) -> list[str]:
    rivals = [size for size in match.sizes[1:4] if size.probability >= RIVAL]
    return [_apart(match, match.sizes[0], rival) for rival in rivals]


def _apart(match: PipeOutcomes, first: PipeSize, second: PipeSize) -> str:
    known = match.known
    one, other = known.words(first.rows[0]), known.words(second.rows[0])
    head = (
        f"{match.shown(first.diameter)} ({one}, {first.probability:.2f}) and {match.shown(second.diameter)} "
        f"({other}, {second.probability:.2f}) are both possible"
    )
    ways = [
        *_diameter_way(match, first, second),
        *_material_way(match, first, second),
        *_wall_way(match, first, second),
    ]
    return f"{head}: {'; '.join(ways)}." if ways else f"{head}: no measurement tells them; ask for the pipe's papers."


def _diameter_way(match: PipeOutcomes, first: PipeSize, second: PipeSize) -> list[str]:
    known, one, other = match.known, first.rows[0], second.rows[0]
    gap = abs(float(known.diameter[one] - known.diameter[other]))
    own = math.hypot(float(spread(known.diameter_half[one])), float(spread(known.diameter_half[other])))
    if gap < APART * own:
        overlap = known.diameter_half[one] + known.diameter_half[other] >= gap
        return ["their diameters overlap within the tolerances"] if overlap else []
    needed = max(0.1, round(gap / 4.0, 1))
    if needed >= match.measured.outside_diameter.uncertainty:
        return []
    return [f"calipers good to {needed:g} mm at several places tell"]


def _material_way(match: PipeOutcomes, first: PipeSize, second: PipeSize) -> list[str]:
    if match.material is not None or match.system is not None:
        return []
    one, other = (_materials(match, size) for size in (first, second))
    if one & other:
        return []
    magnetic = [{match.known.kinship.magnetic(material) for material in group} for group in (one, other)]
    words = f"the material tells, {' or '.join(sorted(one))} against {' or '.join(sorted(other))}"
    if magnetic in ([{True}, {False}], [{False}, {True}]):
        words += ", and so does a magnet"
    return [words]


def _materials(match: PipeOutcomes, size: PipeSize) -> set[str]:
    return {str(systems()[match.known.systems[row]]["material"]) for row in size.rows}


def _wall_way(match: PipeOutcomes, first: PipeSize, second: PipeSize) -> list[str]:
    if match.measured.wall is not None:
        return []
    one, other = (_walls(match, size) for size in (first, second))
    if one is None or other is None or one == other:
        return []
    return [
        f"a wall gauge helps, {match.shown(one[0])} to {match.shown(one[1])} against {match.shown(other[0])} to "
        f"{match.shown(other[1])}"
    ]


def _walls(match: PipeOutcomes, size: PipeSize) -> tuple[float, float] | None:
    printed = match.known.printed_wall[list(size.rows)]
    printed = printed[~np.isnan(printed)]
    return (float(printed.min()), float(printed.max())) if len(printed) else None


def _between_walls(match: PipeOutcomes) -> list[str]:
    pipes = [item for item in match.items if item.outcome == "pipe" and item.probability >= RIVAL]
    if match.measured.wall is None:
        walls = len({int(match.known.cell[row]) for row in match.sizes[0].rows}) if match.sizes else 0
        return (
            [f"The likeliest size is made with {walls} walls: measure the wall to know the bore."] if walls > 1 else []
        )
    best = pipes[:1]
    same = [i for i in pipes[1:] if best and match.known.size[i.names[0].row] == match.known.size[best[0].names[0].row]]
    if not same:
        return []
    walls_there = [float(match.known.printed_wall[item.names[0].row]) for item in [*best, *same]]
    listed = ", ".join(str(match.shown(wall)) for wall in sorted(wall for wall in walls_there if math.isfinite(wall)))
    return [
        f"Walls of {listed} overlap within their tolerances: no gauge tells which was ordered; take the bore from the "
        "measured wall."
    ]


def _worn_words(match: PipeOutcomes) -> list[str]:
    worn = sum(item.probability for item in match.items if item.outcome == "worn")
    if worn < 0.5:
        return []
    return [
        f"The wall fits no wall of the size ({worn:.2f}): corroded, special, or a gauge set to another material's "
        "speed; check the gauge on a known piece, then take the bore as measured."
    ]


def _lining_words(match: PipeOutcomes) -> list[str]:
    materials = _materials(match, match.sizes[0]) if match.sizes else set()
    if match.measured.lining is not None or not materials & LINED or (match.material or "ductile-iron") not in LINED:
        return []
    return [
        "Iron pipe is usually lined: a thickness gauge does not read the lining, and every bore here is without one; "
        "see `refdb lining`, and give the lining."
    ]
