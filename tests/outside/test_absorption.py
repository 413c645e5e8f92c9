"""Sound absorption of liquids against the world outside: Stokes' formula, water, and no value below its bound.

Sources: Fox and Rock, Phys. Rev. 70, 68-73, 1946 (doi:10.1103/PhysRev.70.68; its abstract, which prints 2 alpha/nu^2);
Ainslie and McColm, J. Acoust. Soc. Am. 103, 1671-1672, 1998 (the term of pure water, as code at
github.com/simonmasson/ecosons prints it); COMSOL 6.3, Acoustics Module User's Guide, "The Value of the Bulk Viscosity".
"""

from __future__ import annotations

import math

import pytest

from refdb.forms import Form, make_form
from refdb.recommend.liquids.from_rows import bound_absorption
from refdb.records.models import RecommendedValue
from refdb.records.readings import single_value
from refdb.units import UnitTable
from refdb.vocabulary import vocabulary
from tests.outside.evidence import ATMOSPHERE_MPA, Record, Records

TABLE = UnitTable.from_documents(vocabulary()["units"])
PROPERTY = "absorption_over_frequency_squared"
PER_CENTIMETRE = 100.0
"""1e-17 s2/cm is 1e-15 s2/m."""


def bound_of(records: Records, subject: str) -> RecommendedValue | None:
    """The classical lower bound of a liquid, whatever is published of its absorption."""
    names = ("dynamic_viscosity", "kinematic_viscosity", "density", "sound_speed")
    rows = {
        row: RecommendedValue.model_validate(records[row])
        for row in (f"{subject}.{name}" for name in names)
        if row in records
    }
    return bound_absorption(subject, rows, TABLE)


def at(form: Form, celsius: float) -> float:
    """A form at 1 atm, or wherever it does not ask for a pressure."""
    state = {"temperature": celsius, "pressure": ATMOSPHERE_MPA}
    return float(form.value(*(state[name] for name in form.variables)))


@pytest.fixture(scope="module")
def bound(records: Records) -> Form:
    row = bound_of(records, "water")
    assert row is not None
    return make_form(row.form)


@pytest.fixture(scope="module")
def published(records: Records) -> Form:
    assert records[f"water.{PROPERTY}"]["rung"] == "published"
    return make_form(records[f"water.{PROPERTY}"]["form"])


def test_shear_viscosity_absorbs_in_water_what_fox_and_rock_say(bound: Form) -> None:
    """At 4 degC they ascribe 30e-17 s2/cm of 2 alpha/nu^2 to it, with the viscosity of their day."""
    assert 2.0 * at(bound, 4.0) == pytest.approx(30e-17 * PER_CENTIMETRE, rel=0.06, abs=0.0)


def test_bulk_viscosity_makes_up_the_rest_in_water(bound: Form, published: Form) -> None:
    """COMSOL gives 2.79 times the shear viscosity at room temperature, from the literature on sea water."""
    assert at(published, 20.0) / at(bound, 20.0) == pytest.approx(1.0 + 0.75 * 2.79, rel=0.05)


def test_the_bulk_viscosity_of_fox_and_rock_gives_back_the_published_absorption(
    records: Records, bound: Form, published: Form
) -> None:
    """They derive 0.052 poise at 4 degC and 0.026 poise at 20 degC."""
    density, speed = (make_form(records[f"water.{name}"]["form"]) for name in ("density", "sound_speed"))
    for celsius, poise in ((4.0, 0.052), (20.0, 0.026)):
        bulk = 2.0 * math.pi**2 * 0.1 * poise / (at(density, celsius) * at(speed, celsius) ** 3)
        assert at(bound, celsius) + bulk == pytest.approx(at(published, celsius), rel=0.12, abs=0.0)


@pytest.mark.parametrize(("celsius", "printed"), [(0.01, 137.0), (4.0, 101.0), (33.0, 40.0)])
def test_water_against_what_fox_and_rock_measured(published: Form, celsius: float, printed: float) -> None:
    """Their radiation pressure method reads high beside the pulse methods that followed it: by 8 to 21 %."""
    ratio = printed * 1e-17 * PER_CENTIMETRE / (2.0 * at(published, celsius))
    assert 1.0 < ratio < 1.25


@pytest.mark.parametrize("celsius", [0.01, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0])
def test_water_against_ainslie_and_mccolm(published: Form, celsius: float) -> None:
    """They call their fit, 0.00049 exp(-T/27) dB/km over kHz squared, good to 10 %."""
    decibels = 0.00049 * math.exp(-celsius / 27.0)
    assert decibels * math.log(10.0) / 20.0 * 1e-9 == pytest.approx(at(published, celsius), rel=0.1, abs=0.0)


def published_rows(records: Records) -> list[Record]:
    return [
        row
        for row in records.values()
        if row["kind"] == "recommended" and row["property"] == PROPERTY and row["rule"] != "classical-absorption/1"
    ]


def test_no_published_absorption_is_below_the_bound(records: Records) -> None:
    """Shear viscosity alone absorbs so much; bulk viscosity and the conduction of heat can only add to it."""
    rows = published_rows(records)
    assert "water" in {row["subject"] for row in rows}
    for row in rows:
        least = bound_of(records, row["subject"])
        if least is None:
            continue
        form, floor = make_form(row["form"]), make_form(least.form)
        low, high = (float(row["domain"]["temperature"][end]) for end in ("low", "high"))
        for step in range(21):
            celsius = low + (high - low) * step / 20.0
            assert at(form, celsius) > at(floor, celsius), f"{row['id']} at {celsius} degC"


def test_no_single_reading_is_below_the_bound_unless_it_is_flagged(records: Records) -> None:
    readings = [
        reading
        for reading in records.values()
        if reading["kind"] == "scalar" and reading["property"] == PROPERTY and "flags" not in reading
    ]
    assert readings
    for reading in readings:
        least = bound_of(records, reading["subject"])
        if least is not None:
            celsius = float(reading["state"]["temperature"]["number"])
            value = single_value(reading, TABLE.find("s2/m"), TABLE).value
            assert value > at(make_form(least.form), celsius), reading["id"]


def test_every_liquid_with_viscosity_density_and_speed_has_an_absorption(records: Records) -> None:
    """And a bound says that it is one. Phenol has no temperature at which all three are known."""
    for subject in {row["subject"] for row in records.values() if row["kind"] == "recommended"}:
        needed = [f"{subject}.{name}" for name in ("dynamic_viscosity", "density", "sound_speed")]
        if subject == "phenol" or not all(name in records for name in needed):
            continue
        row = records[f"{subject}.{PROPERTY}"]
        told = (row.get("bound"), "lower bound" in " ".join(row.get("notes", [])))
        assert told == (("lower", True) if row["rule"] == "classical-absorption/1" else (None, False))
