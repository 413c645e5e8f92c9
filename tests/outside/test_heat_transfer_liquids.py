"""Heat-transfer liquids by chemical kind: against the library between the nodes, laws of physics and other sources."""

from __future__ import annotations

import random
from collections.abc import Iterator

import numpy as np
import pytest

from refdb.database import Database
from refdb.forms import make_form
from refdb.problems import MissingState, OutsideRange
from tests.outside.evidence import KELVIN, Record, Records
from tests.peers import Peer

CP = Peer("CoolProp.CoolProp")

STATES = 30
"""Random temperatures of each row."""

TOLERANCES = {"density": 1e-5, "specific_heat": 1e-5, "dynamic_viscosity": 3e-4, "saturation_pressure": 3e-4}
"""What joining the nodes may cost, relative. Measured at 1,500 temperatures of each: 5e-7 (density), 4e-10 (specific
heat), 1e-4 (viscosity) and 1.3e-4 (saturation pressure) at most."""

LETTERS = {"density": "D", "specific_heat": "C", "dynamic_viscosity": "V"}
HIGH = 5e6
"""Pa; the library asks for a pressure above saturation, and gives the same at every one."""


def rows(records: Records) -> list[Record]:
    """The rows of liquids that a library knows along the temperature alone."""
    return [record for record in records.values() if record.get("rule") == "grid/6"]


def followed(records: Records, row: Record) -> str:
    """The library's name of the liquid that a row follows."""
    return str(records[row["inputs"][0]["id"]]["locator"].split("INCOMP::")[1].split(",")[0])


def span(row: Record) -> tuple[float, float]:
    temperature = row["domain"]["temperature"]
    return float(temperature["low"]), float(temperature["high"])


def inside(row: Record) -> Iterator[float]:
    """Random temperatures in degC; the library refuses its own ends for their rounding."""
    chance = random.Random(row["id"])  # noqa: S311 - a seeded choice of states, no secret
    low, high = span(row)
    return (chance.uniform(low + 0.01, high - 0.01) for _ in range(STATES))


def of_library(name: str, property_id: str, celsius: float) -> float:
    if property_id == "saturation_pressure":
        return float(CP.PropsSI("P", "T", celsius + KELVIN, "Q", 0, f"INCOMP::{name}"))
    return float(CP.PropsSI(LETTERS[property_id], "T", celsius + KELVIN, "P", HIGH, f"INCOMP::{name}"))


def test_fourteen_kinds_have_what_a_meter_asks_of_a_liquid_but_its_sound_speed(records: Records) -> None:
    kinds = {row["subject"] for row in rows(records)}
    assert len(kinds) == 14
    for kind in kinds:
        for property_id in ("density", "dynamic_viscosity", "specific_heat", "kinematic_viscosity"):
            assert f"{kind}.{property_id}" in records
        assert f"{kind}.sound_speed" not in records


def test_random_states_of_every_kind_are_those_of_the_library(records: Records) -> None:
    for row in rows(records):
        form, name = make_form(row["form"]), followed(records, row)
        for celsius in inside(row):
            theirs = of_library(name, row["property"], celsius)
            assert float(form.value(celsius)) == pytest.approx(theirs, rel=TOLERANCES[row["property"]]), row["id"]


def test_warmer_is_lighter_thinner_and_evaporates_more(records: Records) -> None:
    for row in rows(records):
        steps = np.diff(make_form(row["form"]).value(np.linspace(*span(row), 60)))
        rises = row["property"] in {"specific_heat", "saturation_pressure"}
        assert (steps > 0.0).all() if rises else (steps < 0.0).all(), row["id"]


def test_the_bound_below_a_vapour_pressure_curve_is_far_below_the_atmosphere(records: Records) -> None:
    """Colder than the curve begins its cold end is taken: too much by a few kilopascals at most."""
    for row in rows(records):
        if "boiling" in row["form"]:
            spec = row["form"]["boiling"]["pressure"]
            assert float(make_form(spec).value(float(spec["axes"][0]["low"]))) < 5000.0, row["id"]


# The thin silicone oil is a mixture of short chains: between the pure siloxanes of three and of five silicon atoms, by
# their own equations of state (Thol et al., Fluid Phase Equilib. 2019 and J. Chem. Eng. Data 2017, in CoolProp).
@pytest.mark.parametrize("celsius", [0.0, 20.0, 60.0, 100.0])
def test_the_thin_silicone_oil_lies_between_pure_siloxanes(records: Records, celsius: float) -> None:
    oil = make_form(records["silicone-heat-transfer-oil-low-temperature.density"]["form"]).value(celsius)
    light, heavy = (CP.PropsSI("D", "T", celsius + KELVIN, "P", 1e6, fluid) for fluid in ("MDM", "MD3M"))
    assert light < float(oil) < heavy


# 0.84 g/cm3 near 20 degC: common practice, no source.
def test_limonene_floats_as_terpenes_do(records: Records) -> None:
    row = records["d-limonene.density"]
    ours = float(make_form(row["form"]).value(20.0))
    assert ours == pytest.approx(840.0, rel=2.0 * float(row["uncertainty"]["number"]) / 100.0)


def test_products_of_a_kind_widen_its_uncertainty(records: Records) -> None:
    """Mineral oils of one kind differ threefold in the cold: the row says so instead of the flat judgement."""
    assert float(records["mineral-heat-transfer-oil.dynamic_viscosity"]["uncertainty"]["number"]) > 25.0
    assert float(records["mineral-heat-transfer-oil.density"]["uncertainty"]["number"]) > 1.0


def test_what_contradicts_the_supplier_of_the_hydrofluoroether_is_not_followed(records: Records) -> None:
    for property_id in ("density", "dynamic_viscosity", "specific_heat"):
        doubted = records[f"methoxynonafluorobutane.{property_id}.02"]
        assert [flag["code"] for flag in doubted["flags"]] == ["suspect"]
        assert records[f"methoxynonafluorobutane.{property_id}"]["inputs"][0]["id"].endswith(".01")


@pytest.mark.parametrize(
    ("kind", "fluid"),
    [
        ("diethylbenzene-heat-transfer-oil", "DowJ"),
        ("diphenyl-oxide-biphenyl-eutectic", "TVP1"),
        ("partially-hydrogenated-terphenyl", "T66"),
        ("silicone-heat-transfer-oil", "S800"),
    ],
)
def test_a_hot_oil_is_answered_under_pressure_and_refused_where_it_boils(
    pending: Database, kind: str, fluid: str
) -> None:
    hot = {"partially-hydrogenated-terphenyl": 370.0}.get(kind, 300.0)
    boiling = of_library(fluid, "saturation_pressure", hot)
    state = {"temperature": f"{hot:g} degC"}
    with pytest.raises(MissingState, match="is liquid only above"):
        pending.value(kind, "density", **state)
    with pytest.raises(OutsideRange, match="is liquid only above"):
        pending.value(kind, "kinematic_viscosity", **state, pressure=f"{0.99 * boiling:.6g} Pa")
    answer = pending.value(kind, "density", **state, pressure=f"{1.01 * boiling:.6g} Pa")
    assert answer.magnitude == pytest.approx(of_library(fluid, "density", hot), rel=1e-5)
    assert answer.document()["warnings"] == []


def test_an_oil_without_a_vapour_pressure_says_that_boiling_was_not_checked(pending: Database) -> None:
    for property_id in ("density", "kinematic_viscosity", "thermal_expansion"):
        answer = pending.value("d-limonene", property_id, temperature="20 degC")
        assert answer.document()["warnings"] == ["Boiling was not checked: no vapour pressure of this liquid was seen."]


def test_a_trade_word_finds_the_kind(pending: Database) -> None:
    assert pending.value("Therminol 66", "density", temperature="20 degC").document()["subject"]["id"] == (
        "partially-hydrogenated-terphenyl"
    )
