"""Physical sense over the whole valid range of every released value: sign, continuity, the shape it must have."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

import refdb
from refdb import Quantity
from refdb.answer import Database
from refdb.units import units

ROWS = refdb.open().store.of_kind("recommended", refdb.open().release())


def _over_its_range(database: Database, body: dict[str, Any], points: int) -> tuple[Any, Any]:
    domain = body["domain"]["temperature"]
    celsius = np.linspace(float(domain["low"]), float(domain["high"]), points)
    state = Quantity(celsius, units().find(domain["unit"]))
    answer = database.value(body["subject"], body["property"], temperature=state, condition=body.get("condition"))
    return celsius, answer.magnitude


@pytest.mark.parametrize("record", ROWS, ids=lambda record: record.id)
def test_a_value_is_positive_and_smooth_over_its_whole_range(database: Database, record: Any) -> None:
    _, values = _over_its_range(database, record.body, 2001)
    assert np.all(values > 0.0)
    # Ten times finer steps must give about ten times smaller differences: a jump would not shrink.
    _, coarse = _over_its_range(database, record.body, 201)
    assert np.abs(np.diff(values)).max() <= 0.2 * np.abs(np.diff(coarse)).max() + 1e-12


@pytest.mark.parametrize("record", ROWS, ids=lambda record: record.id)
def test_an_uncertainty_is_positive_and_smaller_than_the_value(database: Database, record: Any) -> None:
    body = record.body
    middle = f"{(float(body['domain']['temperature']['low']) + 1):g} {body['domain']['temperature']['unit']}"
    answer = database.value(body["subject"], body["property"], temperature=middle, condition=body.get("condition"))
    assert 0.0 < answer.standard_uncertainty.magnitude < answer.magnitude


@pytest.mark.parametrize(
    "record", [r for r in ROWS if r.body["property"] == "shear_speed"], ids=lambda record: record.id
)
def test_shear_waves_are_slower_than_longitudinal_ones(database: Database, record: Any) -> None:
    body = record.body
    longitudinal = database.store.record(record.id.replace("shear_speed", "longitudinal_speed"), database.release())
    if longitudinal is None:
        pytest.skip("no longitudinal speed is advised")
    ratio = float(longitudinal.body["form"]["coefficients"]["c0"]) / float(body["form"]["coefficients"]["c0"])
    # An isotropic solid with 0 < nu < 0.5 has cL/cS above the square root of two.
    assert ratio > np.sqrt(2.0)


def test_water_is_fastest_at_74_degc_and_densest_at_4_degc(database: Database) -> None:
    for property_id, at in (("sound_speed", 74.0), ("density", 3.98)):
        record = database.store.record(f"water.{property_id}", database.release())
        assert record is not None
        celsius, values = _over_its_range(database, record.body, 9501)
        assert celsius[np.argmax(values)] == pytest.approx(at, abs=1.0 if at > 50 else 0.03)
        slopes = np.sign(np.diff(values))
        assert np.count_nonzero(np.diff(slopes[slopes != 0])) == 1
