"""A straight line in temperature: what is followed, what is left out, and what goes into its uncertainty."""

from __future__ import annotations

from typing import Any

import pytest

from refdb.problems import LedgerError
from refdb.recommend.oils.lines import points_of, recommend_line
from refdb.recommend.policy import Line
from refdb.records.models import PropertyReading, RecommendedValue, Scalar, Source, Table
from refdb.release.vocabulary import compile_vocabulary
from refdb.units import UnitTable
from tests.conftest import PROJECT


@pytest.fixture(scope="module")
def table() -> UnitTable:
    """The real units."""
    return UnitTable.from_documents(compile_vocabulary(PROJECT)["units"])


def line(**changes: Any) -> Line:
    fields: dict[str, Any] = {
        "row": "tea.sound_speed",
        "at": "20",
        "temperature": {"low": "10", "high": "40", "unit": "degC"},
        "slope": "2",
        "slope_uncertainty": "0",
        "spread": "0",
        "reason": "Invented.",
    }
    return Line.model_validate(fields | changes)


def common(place: int, source: str, **changes: Any) -> dict[str, Any]:
    fields: dict[str, Any] = {
        "id": f"tea.sound_speed.{place:02d}",
        "source": source,
        "locator": "p. 1",
        "basis": "measured",
        "seen": "original",
        "subject": "tea",
        "property": "sound_speed",
        "unit": "m/s",
    }
    return fields | changes


def single(number: int, source: str, value: str, celsius: str | None, **changes: Any) -> Scalar:
    temperature: Any = "not stated" if celsius is None else {"number": celsius, "unit": "degC"}
    fields = {"state": {"temperature": temperature}, "number": value}
    return Scalar.model_validate(common(number, source, **fields, **changes))


def points(number: int, source: str, *pairs: tuple[str, str], unit: str = "degC") -> Table:
    fields = {"state": {}, "variable": {"name": "temperature", "unit": unit}, "points": list(pairs)}
    return Table.model_validate(common(number, source, **fields))


def sources(**lineages: str | None) -> dict[str, Source]:
    fields = {"type": "article", "title": "T", "seen_at": "x", "seen_on": "2026-01-01", "transcribed_by": "y"}
    return {
        name: Source.model_validate(
            {"id": name, "rights": "facts-only", **fields, **({"lineage": lineage} if lineage else {})}
        )
        for name, lineage in lineages.items()
    }


def recommended(table: UnitTable, readings: list[PropertyReading], entry: Line | None = None) -> RecommendedValue:
    return recommend_line(entry or line(), readings, "m/s", sources(one=None, two=None, copy="x", source="x"), table)


def test_each_document_is_moved_along_the_slope(table: UnitTable) -> None:
    row = recommended(table, [single(1, "one", "1500", "20"), single(2, "two", "1520", "30")])
    assert row.form["coefficients"] == {"c0": "1500", "c1": "2", "t0": "20"}
    assert row.rung == "published"


def test_the_slope_within_documents_is_used_where_none_is_stated(table: UnitTable) -> None:
    # Between the documents lies a step of 100 m/s, which is no slope.
    readings: list[PropertyReading] = [
        points(1, "one", ("10", "1490"), ("20", "1500")),
        points(2, "two", ("303.15", "1610"), ("313.15", "1620"), unit="K"),
    ]
    row = recommended(table, readings, line(slope=None, slope_uncertainty=None))
    assert float(row.form["coefficients"]["c1"]) == pytest.approx(1.0)
    assert float(row.form["coefficients"]["c0"]) == pytest.approx(1550.0)


def test_copies_of_one_table_count_once(table: UnitTable) -> None:
    row = recommended(
        table, [single(1, "source", "1500", "20"), single(2, "copy", "1500", "20"), single(3, "one", "1600", "20")]
    )
    assert row.form["coefficients"]["c0"] == "1550"


def test_a_remembered_value_gives_way_to_one_that_was_seen(table: UnitTable) -> None:
    remembered = single(1, "one", "1400", "20", seen="memory")
    row = recommended(table, [remembered, single(2, "two", "1500", "20")])
    assert (row.form["coefficients"]["c0"], row.rung) == ("1500", "published")
    assert row.left_out is not None
    assert row.left_out[0].reason == "recalled, where a document was seen"
    assert recommended(table, [remembered]).rung == "memory"


def test_doubted_readings_and_those_outside_the_interval_are_left_out(table: UnitTable) -> None:
    doubted = single(1, "one", "1400", "20", flags=[{"code": "suspect", "text": "Invented."}])
    row = recommended(table, [doubted, single(2, "two", "1500", "20"), single(3, "two", "1300", "80")])
    assert [entry.id for entry in row.inputs] == ["tea.sound_speed.02"]
    assert row.left_out is not None
    assert [entry.id for entry in row.left_out] == ["tea.sound_speed.01", "tea.sound_speed.03"]


def test_an_unstated_temperature_an_uncertain_slope_and_disagreement_widen_the_uncertainty(table: UnitTable) -> None:
    def uncertainty(*readings: PropertyReading, **changes: Any) -> float:
        return float(recommended(table, list(readings), line(**changes)).uncertainty.number)

    known = uncertainty(single(1, "one", "1500", "20"))
    assert uncertainty(single(1, "one", "1500", None)) > known
    assert uncertainty(single(1, "one", "1500", "20"), slope_uncertainty="1") > known
    # Two documents 40 m/s apart deviate by 28 m/s; one further specimen by √1.5 of that.
    apart = uncertainty(single(1, "one", "1500", "20"), single(2, "two", "1540", "20"))
    assert apart == pytest.approx(28.3 * 1.5**0.5, rel=0.05)


def test_no_reading_or_no_slope_stops_the_build(table: UnitTable) -> None:
    with pytest.raises(LedgerError, match="no reading"):
        recommended(table, [single(1, "one", "1500", "80")])
    with pytest.raises(LedgerError, match="needs a slope"):
        recommended(table, [single(1, "one", "1500", "20")], line(slope=None, slope_uncertainty=None))


def test_half_a_digit_of_degrees_api_is_taken_along_their_curve(table: UnitTable) -> None:
    reading = Scalar.model_validate(
        common(1, "one", property="density", unit="degAPI")
        | {"number": "30", "state": {"temperature": {"number": "60", "unit": "degF"}}}
    )
    (point,) = points_of(reading, "kg/m3", table)
    assert point.celsius == pytest.approx(15.556, abs=0.001)
    assert point.value == pytest.approx(875.3, abs=0.1)
    assert point.half_width == pytest.approx(2.71, abs=0.05)
