"""Spellings that mean several things: each is refused with a sentence that names the ways out."""

from __future__ import annotations

import re
from typing import Any

import pytest

from refdb.problems import UnknownUnit, WrongDimension
from refdb.units import parse_quantity, units
from tests.rows import each

REFUSED = [(spelling, entry) for entry in units().refused() for spelling in entry["spellings"]]


@each(("spelling", "entry"), REFUSED, ids=[spelling for spelling, _ in REFUSED])
def test_every_refusal_says_why_and_names_the_field(spelling: str, entry: dict[str, Any]) -> None:
    dimension = (entry["dimensions"] or ["volume_flow"])[0]
    with pytest.raises(UnknownUnit) as caught:
        parse_quantity(f"20 {spelling}", dimension, "flow")
    assert caught.value.detail == f"flow: '{spelling}' is refused: {entry['why']}."
    assert caught.value.extensions["parameter"] == "flow"
    assert caught.value.extensions["accepted"] == units().spellings(dimension)


@each("entry", units().refused(), ids=lambda entry: entry["spellings"][0])
def test_every_way_out_leads_somewhere(entry: dict[str, Any]) -> None:
    """At least one spelling after "write" is accepted by the table."""
    advice = re.split(r"; write | or |, or |, | for | by ", entry["why"])
    known = {spelling for dimension in units().dimensions() for spelling in units().spellings(dimension)}
    assert known & {words.strip() for words in advice} or "write the unit in full" in entry["why"]


def test_gpm_names_both_gallons() -> None:
    with pytest.raises(UnknownUnit, match="US gal/min or imp gal/min"):
        units().find("gpm")


def test_a_bare_percent_is_refused_for_a_strength_only() -> None:
    assert units().find("%", "dimensionless").symbol == "%"
    with pytest.raises(UnknownUnit, match="% mass"):
        units().find("%", "mass_fraction")
    with pytest.raises(WrongDimension):
        units().find("%", "temperature")


def test_a_pound_is_a_mass_and_no_pressure() -> None:
    assert units().find("lb", "mass").scale == 0.45359237
    with pytest.raises(UnknownUnit, match="psi"):
        units().find("lb", "pressure")


@each(
    ("spelling", "dimension", "words"),
    [
        ("bbl/d", "volume_flow", "42 US gallons"),
        ("MGD", "volume_flow", "US gallons"),
        ("Btu", "energy", "international-table"),
        ("Btu/h", "power", "international-table"),
        ("psu", "salinity", "TEOS-10"),
        ("degBrix", "mass_fraction", "sucrose"),
        ("SG 60/60 degF", "density", "999.016"),
        ("inHg", "pressure", "not as a vacuum"),
        ("mmHg", "pressure", "absolute"),
    ],
)
def test_what_a_spelling_takes_for_granted_is_said(spelling: str, dimension: str, words: str) -> None:
    assert words in (units().find(spelling, dimension).assume or "")
