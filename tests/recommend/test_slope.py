"""Temperature slopes of speeds under consensus/2: used where one is published, told as neglect where none is."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from refdb.release import derive_records
from tests.invented import READINGS_HEADER, follow_second_rule, write_document

ROW = "invented-metal.longitudinal_speed"
SLOPES = """
[longitudinal_speed_relative_slope]
name = "Relative temperature slope of the longitudinal sound speed"
symbol = "dcL/(cL dt)"
dimension = "per_temperature"
si = "1/K"
us = "1/degF"
applies_to = ["material"]
definition = "Relative change of the longitudinal sound speed per temperature rise."
asked_of = []
"""


@pytest.fixture
def second(invented_text: Path) -> Path:
    """The invented text under consensus/2, with a property for slopes."""
    follow_second_rule(invented_text)
    vocabulary = invented_text / "shared" / "vocabulary" / "properties.toml"
    if "[longitudinal_speed_relative_slope]" not in vocabulary.read_text():
        vocabulary.write_text(vocabulary.read_text() + SLOPES)
    return invented_text


def _with_slopes(text: Path, *slopes: str, basis: str = "measured", flag: str = "") -> dict[str, Any]:
    name = "longitudinal_speed_relative_slope"
    rows = [
        f"invented-metal.{name}.{place:02},invented-metal,{name},{slope},,,1/K,,p. 1,{flag},{flag and 'why'}\n"
        for place, slope in enumerate(slopes, start=1)
    ]
    write_document(text, "slopes", READINGS_HEADER + "".join(rows))
    source = text / "sources" / "documents" / "read" / "slopes" / "source.toml"
    source.write_text(source.read_text().replace('basis = "measured"', f'basis = "{basis}"'))
    return derive_records(text)[ROW]


def test_a_published_slope_makes_the_speed_follow_the_temperature(second: Path) -> None:
    row = _with_slopes(second, "-0.0002")
    assert row["form"]["name"] == "temperature-coefficient/1"
    assert row["form"]["coefficients"] == {"c0": "5000", "c1": "-1", "t0": "20"}
    assert row["inputs"][-1]["note"] == "temperature slope"
    # A quarter of the slope over 20 K either side, as a rectangular distribution.
    assert float(row["working"]["neglected_temperature_dependence"]) == pytest.approx(
        0.25 * 20.0 / math.sqrt(3.0), 0.05
    )


def test_without_one_the_row_holds_at_room_temperature_and_tells_what_it_neglects(second: Path) -> None:
    row = derive_records(second)[ROW]
    assert row["form"]["name"] == "constant/1"
    neglected = 0.00015 * 5000.0 * 20.0 / math.sqrt(3.0)
    assert float(row["working"]["neglected_temperature_dependence"]) == pytest.approx(neglected, rel=0.05)


@pytest.mark.parametrize("basis", ["derived", "estimated"])
def test_a_slope_from_static_moduli_or_a_rule_of_thumb_is_not_used(second: Path, basis: str) -> None:
    assert _with_slopes(second, "-0.0002", basis=basis)["form"]["name"] == "constant/1"


def test_a_doubted_slope_is_not_used(second: Path) -> None:
    assert _with_slopes(second, "-0.0002", flag="suspect")["form"]["name"] == "constant/1"


def test_slopes_that_differ_make_the_speed_less_certain(second: Path) -> None:
    agreeing = _with_slopes(second, "-0.0002", "-0.0002")
    differing = _with_slopes(second, "-0.0001", "-0.0003")
    assert agreeing["form"]["coefficients"]["c1"] == differing["form"]["coefficients"]["c1"] == "-1"
    told = [float(row["working"]["neglected_temperature_dependence"]) for row in (agreeing, differing)]
    assert told[0] < told[1]


def test_a_derived_speed_may_rest_on_one_that_has_a_slope(second: Path) -> None:
    ratio = "invented-metal.poisson_ratio.01,invented-metal,poisson_ratio,0.30,,,1,20 degC,p. 1,,\n"
    write_document(second, "ratio", READINGS_HEADER + ratio)
    _with_slopes(second, "-0.0002")
    row = derive_records(second)["invented-metal.shear_speed"]
    assert float(row["form"]["coefficients"]["c0"]) == pytest.approx(5000.0 * math.sqrt(0.4 / 1.4), rel=1e-3)
