"""Rule curve-fit/2: from points or a handbook's curve to a row, and how well it holds what it has not seen."""

from __future__ import annotations

import math

import pytest

from refdb.recommend.liquids.bounds import LiquidBounds
from refdb.recommend.liquids.curve_fit import CurveFitting
from refdb.recommend.policy import CurveFit
from refdb.records.models import (
    FormVariable,
    PrintedQuantity,
    PrintedState,
    RecommendedValue,
    Scalar,
    Source,
    Subject,
    Table,
)
from refdb.units import UnitTable, units
from tests.tools.liquid_calibration import FITTED, campaign, inside

LIQUID = Subject(id="invented", subject_kind="liquid", name="Invented liquid", family="alcohol")
UNBOUNDED = LiquidBounds({}, None, None, None, None)
POLICY = CurveFit(
    property="sound_speed",
    repeatability="0.1",
    spread="0.2",
    freedom=8,
    compiled="2",
    slope="-0.3",
    slope_uncertainty="0.06",
    reach="5",
    handbook_uncertainty="1",
    disagreement="5",
    per_megapascal="0.4",
    reason="Invented.",
)


def source(key: str) -> Source:
    return Source(
        id=key,
        type="article",
        title="Invented",
        seen_at="nowhere",
        seen_on="2026-11-25",
        transcribed_by="nobody",
        rights="unknown",
    )


def table(key: str, number: int, points: list[tuple[str, str]], basis: str = "measured") -> Table:
    return Table(
        id=f"invented.sound_speed.{number:02d}",
        source=key,
        locator="invented",
        basis=basis,
        seen="archive",
        subject="invented",
        property="sound_speed",
        unit="m/s",
        state=PrintedState(),
        variable=FormVariable(name="temperature", unit="degC"),
        points=points,
    )


def scalar(key: str, number: int, value: str, celsius: str, basis: str = "measured") -> Scalar:
    return Scalar(
        id=f"invented.sound_speed.{number:02d}",
        source=key,
        locator="invented",
        basis=basis,
        seen="archive",
        subject="invented",
        property="sound_speed",
        unit="m/s",
        state=PrintedState(temperature=PrintedQuantity(number=celsius, unit="degC")),
        number=value,
    )


def row_of(*readings: Scalar | Table) -> RecommendedValue | None:
    sources = {reading.source: source(reading.source) for reading in readings}
    unit_table: UnitTable = units()
    return CurveFitting(POLICY, UNBOUNDED, sources, "m/s", unit_table).recommend(LIQUID, readings)


def value(row: RecommendedValue | None, celsius: float) -> float:
    from refdb.forms import make_form

    assert row is not None
    return float(make_form(row.form).value(celsius))


LINE = [("10", "1300"), ("20", "1260"), ("30", "1220"), ("40", "1180")]


def test_points_on_a_line_give_the_line_over_their_range_and_no_further() -> None:
    row = row_of(table("one", 1, LINE))
    assert value(row, 25.0) == pytest.approx(1240.0, abs=0.01)
    assert row is not None
    assert (row.domain["temperature"].low, row.domain["temperature"].high) == ("10", "40")


def test_points_at_one_temperature_get_the_usual_slope_for_a_few_kelvin() -> None:
    row = row_of(scalar("one", 1, "1200", "25"))
    assert row is not None
    assert (row.domain["temperature"].low, row.domain["temperature"].high) == ("20", "30")
    assert value(row, 20.0) - value(row, 30.0) == pytest.approx(36.0, abs=0.1)
    # 0.06 % per kelvin over 5 K, as a rectangular distribution, is a part of it.
    assert float(row.uncertainty.number) > 0.3 / math.sqrt(3.0)


def test_a_compiled_value_gives_way_to_a_measured_one_and_is_wide_alone() -> None:
    beside = row_of(scalar("one", 1, "1200", "25"), scalar("two", 2, "1260", "25", "evaluated"))
    assert beside is not None
    assert beside.left_out is not None
    assert "compiled" in beside.left_out[0].reason
    alone = row_of(scalar("two", 2, "1260", "25", "evaluated"))
    assert alone is not None
    assert 2.0 <= float(alone.uncertainty.number) <= 5.0


def test_documents_that_differ_widen_the_row() -> None:
    agreeing = row_of(table("one", 1, LINE), table("two", 2, LINE))
    higher = [(x, str(round(float(y) * 1.02, 2))) for x, y in LINE]
    differing = row_of(table("one", 1, LINE), table("two", 2, higher))
    assert agreeing is not None
    assert differing is not None
    assert float(differing.uncertainty.number) > 2.0 * float(agreeing.uncertainty.number)
    assert value(differing, 25.0) == pytest.approx(1240.0 * 1.01, rel=1e-3)


def test_a_document_far_from_four_others_is_left_out_with_the_numbers() -> None:
    wrong = [(x, str(round(float(y) * 1.06, 2))) for x, y in LINE]
    others = [table(name, place, LINE) for place, name in enumerate(("a", "b", "c", "d"), start=1)]
    row = row_of(*others, table("wrong", 5, wrong))
    assert row is not None
    assert [entry.id for entry in row.left_out or []] == ["invented.sound_speed.05"]
    assert value(row, 25.0) == pytest.approx(1240.0, rel=1e-4)


# A line goes through two points; what doubles leave of the differences says nothing of the liquid.
def test_no_rounding_is_told_as_a_difference() -> None:
    row = row_of(table("one", 1, [("10", "1300"), ("30", "1200.3")]))
    assert row is not None
    assert row.inputs[0].note == "less than 1e-9 % off"
    assert (row.working or {})["scatter"] == "less than 1e-9 %"


def test_a_single_value_without_its_temperature_makes_no_row() -> None:
    reading = scalar("one", 1, "1200", "25").model_copy(update={"state": PrintedState(temperature="not stated")})
    assert row_of(reading) is None


@pytest.mark.parametrize("property_id", FITTED)
def test_left_out_documents_lie_inside_nine_times_in_ten(property_id: str) -> None:
    points = tuple(point for point in campaign() if point.property_id == property_id)
    assert len(points) >= 20
    assert 0.90 <= inside(points) <= 0.98 + 1.0 / len(points)
