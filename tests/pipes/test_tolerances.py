"""How far a pipe may lie from its nominal dimensions: the usual standard, the closest row, both sides."""

from __future__ import annotations

import pytest

from refdb.database import Database
from refdb.pipes.tolerance import ToleranceAnswer
from refdb.values.options import Options
from tests.rows import each


def limits(database: Database, system: str, size: str, designation: str | None, quantity: str) -> ToleranceAnswer:
    found = database.pipe(system, size, designation).tolerance[quantity]
    assert found is not None
    return found


def both(answer: ToleranceAnswer) -> tuple[float | None, float | None]:
    """Minus and plus in the answer's unit."""
    minus, plus = (side.magnitude if side is not None else None for side in (answer.minus, answer.plus))
    return minus, plus


@each(
    ("system", "size", "designation", "quantity", "standard", "minus", "plus"),
    [
        # 12.5 % of 8.18 mm, and inches of ASTM A106 turned into millimetres.
        ("b36.10", "NPS 8", "40", "wall", "ASTM A53", 1.0225, None),
        ("b36.10", "NPS 8", "40", "outside_diameter", "ASTM A106", 0.7874, 1.5748),
        ("b36.10", "NPS 1", "40", "outside_diameter", "ASTM A53", 25.4 / 64, 25.4 / 64),
        ("b36.19", "NPS 2", "10S", "wall", "ASTM A999", 0.125 * 2.77, 0.225 * 2.77),
        # 1.3 mm, and 0.001 for every millimetre of DN above 6 mm of wall.
        ("en545", "DN 150", "K9", "wall", "EN 545", 1.3, None),
        ("en545", "DN 200", "K9", "wall", "EN 545", 1.5, None),
        ("en545", "DN 200", "K9", "outside_diameter", "EN 545", 3.0, 1.0),
        # The greater of a percentage and an amount.
        ("din2448", "60.3", "2.9", "wall", "EN 10216-1", 0.4, 0.4),
        ("din2448", "60.3", "4", "wall", "EN 10216-1", 0.5, 0.5),
        ("din2448", "60.3", "2.9", "outside_diameter", "EN 10216-1", 0.603, 0.603),
        # Limits printed as the extremes themselves.
        ("iso4427", "110", "SDR 11", "wall", "ISO 11922-1, grade V", 0.0, 1.1),
        ("b42", "NPS 1", "Regular", "outside_diameter", "ASTM B42", 0.006 * 25.4, 0.0),
    ],
)
def test_limits_follow_the_closed_form_of_the_standard(
    pending: Database,
    system: str,
    size: str,
    designation: str,
    quantity: str,
    standard: str,
    minus: float,
    plus: float | None,
) -> None:
    answer = limits(pending, system, size, designation, quantity)
    assert answer.record.body["standard"] == standard
    assert both(answer) == pytest.approx((minus, plus), abs=1e-6)


def test_no_upper_limit_is_told_apart_from_one_that_is_not_told(pending: Database) -> None:
    iron = limits(pending, "en545", "DN 200", "K9", "wall").document()
    steel = limits(pending, "b36.10", "NPS 8", "40", "wall").document()
    assert (iron["plus"], iron["plus_unlimited"]) == (None, True)
    assert (steel["plus"], steel["plus_unlimited"]) == (None, False)


def test_limits_come_in_the_unit_that_is_asked_for(pending: Database) -> None:
    pipe = pending.pipe("b36.10", "NPS 8", "40", Options(system="us"))
    wall = pipe.tolerance["wall"]
    assert wall is not None
    assert wall.minus is not None
    assert (wall.minus.magnitude, wall.minus.unit.symbol) == (pytest.approx(0.04025), "in")


def test_the_rule_and_its_row_are_told(pending: Database) -> None:
    told = limits(pending, "en545", "DN 200", "K9", "wall").document()
    assert told["text"].startswith("wall: minus 1.3 mm + 0.001 DN, no upper limit where")
    assert pending.row(told["row"]["id"])["row"] == told["row"]


def test_a_system_whose_limits_nobody_saw_has_none(pending: Database) -> None:
    assert pending.pipe("jis-g3454", "100A", "40").document()["tolerance"] == {"outside_diameter": None, "wall": None}


def test_a_doubted_tolerance_is_never_answered(pending: Database) -> None:
    # The only print of drawn tube of 10 in is a fraction that was taken for a quotient.
    pipe = pending.pipe("b88", "10", "L")
    outside = pipe.tolerance["outside_diameter"]
    assert outside is not None
    assert outside.record.body["standard"] == "ASTM B88, annealed"


def test_readings_that_print_other_limits_are_left_out_and_told(pending: Database) -> None:
    row = pending.row("tolerance.en-545.outside-diameter.dn-80")["record"]
    assert [entry["id"] for entry in row["left_out"]] == ["tolerance.en-545.outside-diameter.dn-80.02"]
