"""Rule solid-expansion/1 on invented readings: curves of means, single numbers, and what is no mean from 20 degC."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from refdb.release import derive_records
from tests.invented import READINGS_HEADER, follow_weighed_rule, write_document

ROW = "invented-metal.thermal_expansion"
RULE = """
[[solid_expansion]]
members = ["other-metal"]
spread = "0.03"
rise = "0.0006"
rise_uncertainty = "0.0003"
temperature = { low = "-20", high = "200", unit = "degC" }
reason = "Invented."
"""
CURVE = """
[[table]]
id = "invented-metal.thermal_expansion.{number}"
subject = "invented-metal"
property = "thermal_expansion"
unit = "1e-6/K"
locator = "table 9"
note = "{note}"
points = [["20", "10.0"], ["120", "10.5"], ["220", "11.0"]]

[table.state]

[table.variable]
name = "temperature"
unit = "degC"
"""


@pytest.fixture
def grown(invented_text: Path) -> Path:
    """The invented text with the rule of expansion."""
    follow_weighed_rule(invented_text)
    rules = invented_text / "sources" / "rules" / "invented.toml"
    rules.write_text(rules.read_text() + RULE)
    return invented_text


def _single(text: Path, value: str, temperature: str) -> None:
    line = f"{ROW}.01,invented-metal,thermal_expansion,{value},,,1e-6/K,{temperature},p. 1,,\n"
    write_document(text, "single", READINGS_HEADER + line)


def _curve(text: Path, note: str, number: str = "02") -> None:
    folder = write_document(text, f"curve-{number}", READINGS_HEADER)
    (folder / "tables.toml").write_text(CURVE.format(number=number, note=note))


def _line(row: dict[str, Any]) -> tuple[float, float]:
    coefficients = row["form"]["coefficients"]
    return float(coefficients["c0"]), float(coefficients["c1"])


def test_a_curve_of_means_gives_the_coefficient_at_20_degc_and_its_rise(grown: Path) -> None:
    _curve(grown, "mean from 20 degC")
    row = derive_records(grown)[ROW]
    at_20, rise = _line(row)
    assert (row["rule"], row["unit"]) == ("solid-expansion/1", "1/K")
    assert at_20 == pytest.approx(10.0e-6, rel=1e-3)
    assert rise == pytest.approx(0.5e-6 / 100.0, rel=1e-2)


def test_an_instantaneous_curve_is_the_mean_at_half_the_way(grown: Path) -> None:
    """Growth from 20 degC is the integral of the coefficient: its mean rises half as fast."""
    tables = write_document(grown, "curve", READINGS_HEADER) / "tables.toml"
    tables.write_text(
        CURVE.format(number="02", note="Invented.").replace("thermal_expansion", "instantaneous_expansion")
    )
    at_20, rise = _line(derive_records(grown)[ROW])
    assert at_20 == pytest.approx(10.0e-6, rel=1e-3)
    assert rise == pytest.approx(0.5 * 0.5e-6 / 100.0, rel=1e-2)


def test_a_single_mean_to_100_degc_is_brought_to_20_degc_by_the_rise_of_its_kin(grown: Path) -> None:
    _single(grown, "12.0", "20 to 100 degC")
    at_20, rise = _line(derive_records(grown)[ROW])
    assert at_20 == pytest.approx(12.0e-6 / (1.0 + 0.0006 * 80.0), rel=1e-3)
    assert rise == pytest.approx(0.0006 * at_20, rel=1e-2)


def test_documents_that_disagree_widen_the_value(grown: Path) -> None:
    _single(grown, "10.3", "20 to 100 degC")
    _curve(grown, "mean from 20 degC")
    agreeing = float(derive_records(grown)[ROW]["uncertainty"]["number"])
    _single(grown, "15.0", "20 to 100 degC")
    assert float(derive_records(grown)[ROW]["uncertainty"]["number"]) > 3.0 * agreeing


def test_grades_and_the_rise_are_in_the_uncertainty_of_a_lone_document(grown: Path) -> None:
    _curve(grown, "mean from 20 degC")
    row = derive_records(grown)[ROW]
    at_20, _ = _line(row)
    of_rise = 0.0003 * 180.0 / math.sqrt(3.0) * at_20
    expected = math.hypot(0.03 * at_20, 0.03 * at_20, of_rise)
    assert float(row["uncertainty"]["number"]) == pytest.approx(expected, rel=0.05)
