"""Finding pipes, against the world outside: what a tape may be off by, and diameters that standards print.

Limits of tapes: Directive 2014/32/EU, Annex X, table 1 (classes I, II and III), as Schedule 1I of the Measuring
Instruments Regulations 2016 of the United Kingdom prints it: a + b L, L in metres rounded up; a = 0.3 mm and b = 0.2 mm
for class II.

Circumferences: pi times the outside diameters that ASME B36.10M (8 5/8 in, 10 3/4 in, 14 in), EN 545 (222 mm, 274 mm)
and ISO 4427 (355 mm) print, by hand.
"""

from __future__ import annotations

import math

import pytest

from refdb.database import Database


@pytest.mark.parametrize(
    ("circumference", "limit"),
    [("900 mm", 0.5), ("1000 mm", 0.5), ("1001 mm", 0.7), ("4.5 m", 1.3)],
)
def test_a_tape_is_trusted_as_far_as_the_law_lets_it_be_off(
    database: Database, circumference: str, limit: float
) -> None:
    told = database.match_pipe(circumference=circumference, tape_thickness="0.1 mm").measured.outside_diameter
    # The limit as a rectangle, half a millimetre for the reading, and the tape's own 0.02 mm.
    around = math.hypot(0.5, limit / math.sqrt(3.0))
    assert told.uncertainty == pytest.approx(math.hypot(around / math.pi, 0.02))


@pytest.mark.parametrize(
    ("tape", "material", "diameter"),
    [
        ("688.3 mm", "carbon steel", 219.1),
        ("697.4 mm", "ductile iron", 222.0),
        ("857.8 mm", "carbon steel", 273.0),
        ("860.8 mm", "ductile iron", 274.0),
        ("1115.3 mm", "hdpe", 355.0),
        ("1117.2 mm", "carbon steel", 355.6),
        ("27.10 in", "carbon steel", 219.1),
    ],
)
def test_the_tape_around_a_nominal_pipe_finds_it(pending: Database, tape: str, material: str, diameter: float) -> None:
    best = pending.match_pipe(circumference=tape, material=material).sizes[0]
    assert best.diameter == pytest.approx(diameter, abs=0.1)
    assert best.probability > 0.5
