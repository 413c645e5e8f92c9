"""Physical sense over the whole valid range of every released value: sign, continuity, the shape it must have."""

from __future__ import annotations

from functools import partial
from typing import Any

import numpy as np
import pytest

from refdb import Quantity
from refdb.database import Database
from refdb.lookup import StoredRecord
from refdb.units import units
from refdb.vocabulary import STATE, properties
from tests.rows import each, failing

LIQUID = "3 MPa"
WITHOUT_ROWS = {
    "absorption",
    "absorption_slope",
    "bulk_sound_speed",
    "lame_lambda",
    "longitudinal_speed_relative_slope",
    "longitudinal_speed_slope",
    "roughness",
    "shear_speed_slope",
    "youngs_modulus_slope",
}
"""Properties of which no value is advised: they are calculated, checked against, or told by rows of another kind."""
PROPERTIES = [name for name in properties() if name not in WITHOUT_ROWS]


def _rows(database: Database, property_id: str) -> list[StoredRecord]:
    rows = database.store.of_kind("recommended", database.release())
    return [record for record in rows if record.body["property"] == property_id]


def _id(record: StoredRecord) -> str:
    return record.id


def test_no_property_is_passed_over(database: Database) -> None:
    rows = database.store.of_kind("recommended", database.release())
    assert {record.body["property"] for record in rows} == set(PROPERTIES)


def _over_its_range(database: Database, body: dict[str, Any], points: int) -> tuple[Any, Any]:
    """Values along the first part of the state that the row depends on, the others held in the middle of theirs."""
    name, *others = body["domain"]
    low, high = _ends(body["domain"][name])
    along = np.linspace(low, high, points)
    state: dict[str, Any] = {part: _middle(body["domain"][part]) for part in others}
    state[name] = Quantity(along, units().find(body["domain"][name]["unit"], STATE[name].dimension))
    if "boiling" in body["form"]:
        # What boils below the end of its range is asked at a pressure that keeps it liquid.
        state["pressure"] = LIQUID
    answer = database.value(
        body["subject"], body["property"], condition=body.get("condition"), accept="estimates", **state
    )
    return along, answer.magnitude


def _ends(interval: dict[str, str]) -> tuple[float, float]:
    """An interval as numbers; above freezing sea water is liquid at 0 degC and above, whatever its salinity."""
    assert interval["low"] != "saturation"
    return 0.0 if interval["low"] == "freezing" else float(interval["low"]), float(interval["high"])


def _middle(interval: dict[str, str]) -> str:
    """The middle of an interval; the high end of a pressure from saturation, which is liquid at every temperature."""
    if interval["low"] == "saturation":
        return f"{interval['high']} {interval['unit']}"
    return f"{sum(_ends(interval)) / 2} {interval['unit']}"


def _sorted(body: dict[str, Any]) -> dict[str, Any]:
    """A row with the temperature first among the parts of its state."""
    domain = body["domain"]
    return {**body, "domain": dict(sorted(domain.items(), key=lambda part: part[0] != "temperature"))}


@each("property_id", PROPERTIES)
def test_a_value_is_positive_and_smooth_over_its_whole_range(database: Database, property_id: str) -> None:
    assert failing(partial(_is_smooth, database), _rows(database, property_id), _id) == []


def _is_smooth(database: Database, record: StoredRecord) -> None:
    body = _sorted(record.body)
    if body.get("bound") == "between":
        return
    _, values = _over_its_range(database, body, 2001)
    # Water and what consists of it shrink as they are warmed, below their densest.
    assert np.all(values > 0.0) or body["property"] in {"freezing_point", "thermal_expansion"}
    # Ten times finer steps must give about ten times smaller differences: a jump would not shrink.
    _, coarse = _over_its_range(database, body, 201)
    assert np.abs(np.diff(values)).max() <= 0.2 * np.abs(np.diff(coarse)).max() + 1e-12


@each("property_id", PROPERTIES)
def test_an_uncertainty_is_positive_and_smaller_than_the_value(database: Database, property_id: str) -> None:
    assert failing(partial(_has_a_sensible_uncertainty, database), _rows(database, property_id), _id) == []


def _has_a_sensible_uncertainty(database: Database, record: StoredRecord) -> None:
    body = record.body
    state: dict[str, Any] = {part: _middle(interval) for part, interval in body["domain"].items()}
    answer = database.value(
        body["subject"], body["property"], condition=body.get("condition"), accept="estimates", **state
    )
    if answer.limits is not None:
        assert 0.0 < answer.limits[0].magnitude < answer.limits[1].magnitude
        return
    assert answer.standard_uncertainty.magnitude > 0.0
    # Of a density that is known roughly, next to nothing may be known of its slope; a bound says less than a value.
    loose = body["property"] == "thermal_expansion" or "bound" in body
    assert loose or answer.standard_uncertainty.magnitude < abs(answer.magnitude)


def test_shear_waves_are_slower_than_longitudinal_ones(database: Database) -> None:
    assert failing(partial(_is_slower, database), _rows(database, "shear_speed"), _id) == []


def _is_slower(database: Database, record: StoredRecord) -> None:
    longitudinal = database.store.record(record.id.replace("shear_speed", "longitudinal_speed"), database.release())
    bounded = [row for row in (longitudinal, record) if row is not None and row.body.get("bound") == "between"]
    if longitudinal is not None and not bounded:
        fast, slow = (float(row.body["form"]["coefficients"]["c0"]) for row in (longitudinal, record))
        # An isotropic solid with 0 < nu < 0.5 has cL/cS above the square root of two.
        assert fast / slow > np.sqrt(2.0)


PLASTICS = ("thermoplastic", "thermoset", "elastomer", "fluoropolymer", "filled-plastic")


def test_every_speed_of_a_plastic_tells_its_frequency(database: Database) -> None:
    for property_id in ("longitudinal_speed", "shear_speed"):
        for record in _rows(database, property_id):
            subject = database.store.record(record.body["subject"], database.release())
            assert subject is not None
            dispersive = subject.body["family"] in PLASTICS
            assert ("frequency" in record.body) == dispersive, record.id


def test_correlations_are_mutual_and_those_of_a_material_are_possible_together(database: Database) -> None:
    rows = {r.id: r.body for name in ("longitudinal_speed", "shear_speed", "density") for r in _rows(database, name)}
    told = {row: body["correlations"] for row, body in rows.items() if "correlations" in body}
    assert len(told) > 100
    for subject in {rows[row]["subject"] for row in told}:
        own = [row for row in told if rows[row]["subject"] == subject]
        assert {other for row in own for other in told[row]} <= set(own)
        matrix = np.array([[1.0 if a == b else float(told[a].get(b, 0.0)) for b in own] for a in own])
        assert (matrix == matrix.T).all(), subject
        assert np.linalg.eigvalsh(matrix)[0] > 0.0, subject


def test_water_is_fastest_at_74_degc_and_densest_at_4_degc(database: Database) -> None:
    for property_id, at in (("sound_speed", 74.0), ("density", 3.98)):
        celsius = np.linspace(0.01, 99.9, 9990)
        values = database.value("water", property_id, temperature=Quantity(celsius, units().find("degC"))).magnitude
        assert celsius[np.argmax(values)] == pytest.approx(at, abs=1.0 if at > 50 else 0.03)
        slopes = np.sign(np.diff(values))
        assert np.count_nonzero(np.diff(slopes[slopes != 0])) == 1
