"""Pipes of ASME B36.10M: the recommended rows, compared with

- the schedule tables of the Python library fluids (fluids.piping, which names ASME B36.10M as their origin): every row
  that does not itself rest on that library, in both directions;
- what the standard says of its own sizes: NPS and DN, outside diameters from NPS 14, inches against millimetres.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

import pytest

from refdb.database import Database
from tests.outside.evidence import Record, Records
from tests.peers import Peer
from tests.rows import each

piping = Peer("fluids.piping")

SYSTEM = "b36.10"
CHECKING_LIBRARY = "fluids-1.3.1"
SCHEDULES = ["5", "10", "20", "30", "40", "60", "80", "100", "120", "140", "160"]
WEIGHTS = ["STD", "XS", "XXS"]
MM_PER_INCH = 25.4

# Both tables print hundredths of a millimetre for walls, tenths or whole millimetres for outside diameters.
SAME_PRINT = 1e-9

# fluids 1.3.1 lists neither schedule 160 nor XXS below NPS 1/2; the 2018 edition of the standard does.
NOT_IN_FLUIDS = {(Fraction(size), word) for size in ("1/8", "1/4", "3/8") for word in ("160", "XXS")}

# The standard's two prints of one wall differ by 0.01 mm: NPS 1 1/2 XXS is 0.400 in, which is 10.16 mm, and 10.15 mm.
NOT_ROUNDED_ALIKE = {("b36.10-nps-1-1-2-xxs", "wall"): 0.01}


def nps(record: Record) -> Fraction:
    return sum((Fraction(part) for part in record["size"]["NPS"].split()), Fraction(0))


def printed(record: Record, unit: str) -> tuple[float, float] | None:
    """Outside diameter and wall as printed in a unit."""
    for entry in record["dimensions"]:
        if entry["unit"] == unit:
            return float(entry["outside_diameter"]), float(entry["wall"])
    return None


def millimetres(record: Record) -> tuple[float, float]:
    dimensions = printed(record, "mm")
    assert dimensions is not None, f"{record['id']} has no millimetres"
    return dimensions


def fluids_table(word: str) -> dict[Fraction, tuple[float, float, float]]:
    """Outside diameter, wall and bore in mm by NPS."""
    sizes, bores, diameters, walls = piping.schedule_lookup[word][:4]
    return {
        Fraction(size): (float(diameter), float(wall), float(bore))
        for size, bore, diameter, wall in zip(sizes, bores, diameters, walls, strict=True)
    }


@pytest.fixture(scope="session")
def pipes(records: Records) -> list[Record]:
    return [r for r in records.values() if r["kind"] == "recommended-pipe" and r["system"] == SYSTEM]


@pytest.fixture(scope="session")
def independent(records: Records, pipes: list[Record]) -> dict[tuple[Fraction, str], Record]:
    """Rows that rest on nothing from the library they are checked against, by size and schedule word."""
    return {
        (nps(pipe), word): pipe
        for pipe in pipes
        if all(records[entry["id"]]["source"] != CHECKING_LIBRARY for entry in pipe["inputs"])
        for word in pipe["designations"]
    }


@pytest.fixture(scope="session")
def by_size(pipes: list[Record]) -> dict[Fraction, list[Record]]:
    grouped: dict[Fraction, list[Record]] = defaultdict(list)
    for pipe in pipes:
        grouped[nps(pipe)].append(pipe)
    return dict(sorted(grouped.items()))


def walls(members: list[Record]) -> dict[str, float]:
    """Walls in mm by schedule word."""
    return {word: millimetres(pipe)[1] for pipe in members for word in pipe["designations"]}


# fluids 1.3.1, fluids.piping.schedule_lookup.
@each("word", [*SCHEDULES, *WEIGHTS])
def test_outside_diameters_and_walls_are_those_of_the_fluids_library(
    independent: dict[tuple[Fraction, str], Record], word: str
) -> None:
    theirs = fluids_table(word)
    ours = {size: pipe for (size, designation), pipe in independent.items() if designation == word and size in theirs}

    assert ours, f"no independent row is designated {word}"
    for size, pipe in ours.items():
        assert millimetres(pipe) == pytest.approx(theirs[size][:2], abs=SAME_PRINT), pipe["id"]


# fluids 1.3.1, fluids.piping.schedule_lookup.
@each("word", [*SCHEDULES, *WEIGHTS])
def test_every_size_that_the_fluids_library_lists_has_a_row(pipes: list[Record], word: str) -> None:
    here = {nps(pipe) for pipe in pipes if word in pipe["designations"]}

    assert set(fluids_table(word)) <= here


# fluids 1.3.1, fluids.piping.schedule_lookup.
def test_no_row_claims_a_schedule_word_unknown_to_the_fluids_library(
    independent: dict[tuple[Fraction, str], Record],
) -> None:
    known = {(size, word) for word in [*SCHEDULES, *WEIGHTS] for size in fluids_table(word)}

    assert set(independent) - known == NOT_IN_FLUIDS


# fluids 1.3.1, fluids.piping.schedule_lookup: bores, in hundredths of a millimetre.
@each("word", [*SCHEDULES, *WEIGHTS])
def test_the_bore_of_an_answer_is_that_of_the_fluids_library(
    database: Database, independent: dict[tuple[Fraction, str], Record], word: str
) -> None:
    theirs = fluids_table(word)
    answers = {answer.id: answer for answer in database.pipes(SYSTEM, designation=word)}

    for (size, designation), pipe in independent.items():
        if designation == word and size in theirs:
            bore = answers[pipe["id"]].bore.to("mm").magnitude
            assert bore == pytest.approx(theirs[size][2], abs=0.0051), pipe["id"]


# fluids 1.3.1, fluids.piping.schedule_lookup: one outside diameter per size, whatever the schedule.
def test_rows_without_a_schedule_word_have_the_outside_diameter_of_their_size(
    by_size: dict[Fraction, list[Record]],
) -> None:
    theirs = {size: row[0] for word in [*SCHEDULES, *WEIGHTS] for size, row in fluids_table(word).items()}
    nameless = [pipe for size in theirs for pipe in by_size[size] if not pipe["designations"]]

    assert nameless
    for pipe in nameless:
        assert millimetres(pipe)[0] == pytest.approx(theirs[nps(pipe)], abs=SAME_PRINT), pipe["id"]


# ASME B36.10M: a size has one outside diameter, and no two sizes share one.
def test_every_size_has_one_outside_diameter_of_its_own(by_size: dict[Fraction, list[Record]]) -> None:
    diameters = {size: {millimetres(pipe)[0] for pipe in members} for size, members in by_size.items()}

    assert all(len(found) == 1 for found in diameters.values())
    assert len(set().union(*diameters.values())) == len(diameters)


# ASME B36.10M, as told at galbraith.plus.com/teched/netlearning/Learn034.htm: from NPS 14 the size is the outside
# diameter in inches. The standard prints whole millimetres from NPS 18.
def test_from_nps_14_the_size_is_the_outside_diameter_in_inches(by_size: dict[Fraction, list[Record]]) -> None:
    large = [pipe for size, members in by_size.items() if size >= 14 for pipe in members]

    assert large
    for pipe in large:
        assert millimetres(pipe)[0] == pytest.approx(MM_PER_INCH * float(nps(pipe)), abs=0.5), pipe["id"]
        inches = printed(pipe, "in")
        assert inches is None or inches[0] == float(nps(pipe)), pipe["id"]


# ISO 6708 and ASME B36.10M, as tabulated at valvehax.com/resources/quick-references/pipe-size-nps-vs-dn-table.
SMALL_SIZES = {
    "1/8": "6",
    "1/4": "8",
    "3/8": "10",
    "1/2": "15",
    "3/4": "20",
    "1": "25",
    "1 1/4": "32",
    "1 1/2": "40",
    "2": "50",
    "2 1/2": "65",
    "3": "80",
    "3 1/2": "90",
}


def test_nps_and_dn_of_a_row_name_the_same_size(pipes: list[Record]) -> None:
    for pipe in pipes:
        if "DN" in pipe["size"]:
            size = pipe["size"]["NPS"]
            assert pipe["size"]["DN"] == SMALL_SIZES.get(size, str(25 * nps(pipe))), pipe["id"]


# ASME B36.10M: within a size a higher schedule number is a thicker wall.
def test_walls_rise_with_the_schedule_number(by_size: dict[Fraction, list[Record]]) -> None:
    for size, members in by_size.items():
        by_word = walls(members)
        rising = [by_word[word] for word in SCHEDULES if word in by_word]
        assert all(thinner < thicker for thinner, thicker in pairwise(rising)), f"NPS {size}"


# ASME B36.10M: STD, XS and XXS are three weights in this order.
def test_walls_rise_from_std_over_xs_to_xxs(by_size: dict[Fraction, list[Record]]) -> None:
    for size, members in by_size.items():
        by_word = walls(members)
        rising = [by_word[word] for word in WEIGHTS if word in by_word]
        assert all(thinner < thicker for thinner, thicker in pairwise(rising)), f"NPS {size}"


# Common practice, no source: STD is schedule 40 to NPS 10 and 0.375 in (9.53 mm) above; XS is schedule 80 to NPS 8 and
# 0.500 in (12.70 mm) above.
@pytest.mark.parametrize(("weight", "schedule", "largest", "above"), [("STD", "40", 10, 9.53), ("XS", "80", 8, 12.70)])
def test_a_weight_is_a_schedule_in_small_sizes_and_one_wall_in_large_ones(
    by_size: dict[Fraction, list[Record]], weight: str, schedule: str, largest: int, above: float
) -> None:
    weighted = {size: walls(members) for size, members in by_size.items() if weight in walls(members)}

    assert min(weighted) <= largest < max(weighted)
    for size, by_word in weighted.items():
        assert by_word[weight] == (by_word[schedule] if size <= largest else above), f"NPS {size}"


def both_prints(pipes: list[Record]) -> Iterator[tuple[Record, str, float, float, float]]:
    """Row, dimension, millimetres, inches, and half the last digit of the printed millimetres."""
    for pipe in pipes:
        inches = printed(pipe, "in")
        if inches is not None:
            diameter, wall = millimetres(pipe)
            yield pipe, "outside diameter", diameter, inches[0], 0.5 if nps(pipe) >= 18 else 0.05
            yield pipe, "wall", wall, inches[1], 0.005


# ASME B36.10M prints both units: the millimetres are the inches, rounded; whole millimetres for outside diameters from
# NPS 18, tenths below, hundredths for walls.
def test_printed_millimetres_are_the_printed_inches_rounded(pipes: list[Record]) -> None:
    compared = list(both_prints(pipes))

    assert compared
    for pipe, dimension, mm, inches, half_digit in compared:
        allowed = NOT_ROUNDED_ALIKE.get((pipe["id"], dimension), half_digit) + SAME_PRINT
        assert abs(mm - MM_PER_INCH * inches) <= allowed, f"{pipe['id']}, {dimension}: {mm} mm, {inches} in"


def test_the_listed_exceptions_to_rounding_are_exceptions(pipes: list[Record]) -> None:
    misfits = {
        (pipe["id"], dimension)
        for pipe, dimension, mm, inches, half_digit in both_prints(pipes)
        if abs(mm - MM_PER_INCH * inches) > half_digit + SAME_PRINT
    }

    assert misfits == set(NOT_ROUNDED_ALIKE)


# Common practice, no source: walls of large pipe come in 32nds of an inch, told in thousandths, of which the standard
# rounds some down (5/16 in is 0.312 in and 7.92 mm). Rows that print millimetres alone have no other check of the wall.
def test_walls_printed_in_millimetres_only_are_32nds_of_an_inch(pipes: list[Record]) -> None:
    thousandths = {part for count in range(1, 128) for part in (1000 * count // 32, -(-1000 * count // 32))}
    alone = [pipe for pipe in pipes if printed(pipe, "in") is None]

    assert alone
    for pipe in alone:
        wall = millimetres(pipe)[1]
        assert any(abs(wall - MM_PER_INCH * part / 1000) <= 0.005 + SAME_PRINT for part in thousandths), pipe["id"]


# ASME B36.10M: a wall stands once under a size, with all its schedule words.
def test_no_wall_stands_twice_under_a_size(by_size: dict[Fraction, list[Record]]) -> None:
    for size, members in by_size.items():
        found = [millimetres(pipe)[1] for pipe in members]
        assert len(found) == len(set(found)), f"NPS {size}"
