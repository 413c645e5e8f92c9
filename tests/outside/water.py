"""What the outside checks of pure water share: the rows that the text gives today, and states of the liquid."""

from __future__ import annotations

import math
import random

from refdb.forms import Form, make_form
from tests.outside.evidence import ATMOSPHERE_MPA, Record, Records

PROPERTIES = ("sound_speed", "density", "specific_heat", "dynamic_viscosity")

Rows = dict[str, Form]
State = tuple[float, float]
"""A temperature in degC on ITS-90 and an absolute pressure in MPa."""


def rows_of_water(records: Records) -> Rows:
    """The rows of liquid water, and its saturation pressure in Pa, in SI by temperature in degC and pressure in MPa."""
    return {name: make_form(records[f"water.{name}"]["form"]) for name in (*PROPERTIES, "saturation_pressure")}


def saturation(rows: Rows, celsius: float) -> float:
    """The saturation pressure in MPa."""
    return float(rows["saturation_pressure"].value(celsius)) * 1e-6


def liquid_states(rows: Rows, seed: int, count: int = 300) -> list[State]:
    """Random states between the triple point and 200 degC, from just above saturation to 10 MPa."""
    chance = random.Random(seed)  # noqa: S311 - a seeded choice of states, no secret
    states = []
    for _ in range(count):
        celsius = chance.uniform(0.02, 199.9)
        low = saturation(rows, celsius) * 1.0001
        states.append((celsius, low + chance.random() * (10.0 - low)))
    return states


def stated_cost_of_joining(record: Record) -> float:
    """The relative difference from the library that a row of nodes admits."""
    number, unit = record["working"]["fit_error"].split()
    assert unit == "%"
    return float(number) / 100.0


def stated_uncertainty(record: Record, megapascals: float) -> float:
    """The relative standard uncertainty that a row states at a pressure: it grows above 1 atm."""
    uncertainty = record["uncertainty"]
    assert uncertainty["unit"] == "%"
    growing = float(uncertainty.get("per_megapascal", 0.0)) * max(0.0, megapascals - ATMOSPHERE_MPA)
    return math.hypot(float(uncertainty["number"]), growing) / 100.0
