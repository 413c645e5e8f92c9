"""Sea water is answered from its salinity, practical or absolute, and refused where it freezes."""

from __future__ import annotations

from urllib.parse import parse_qsl, urlsplit

import numpy as np
import pytest

from refdb import Quantity
from refdb.database import Database
from refdb.problems import BadParameter, BadQuantity, MissingState, OutsideRange
from refdb.units import units

PROPERTIES = ("sound_speed", "density", "specific_heat", "dynamic_viscosity")


def test_practical_salinity_is_read_as_the_absolute_one_of_standard_sea_water(pending: Database) -> None:
    practical = pending.value("seawater", "sound_speed", temperature="15 degC", salinity="35 psu")
    absolute = pending.value("seawater", "sound_speed", temperature="15 degC", salinity="35.16504 g/kg")
    assert practical.magnitude == pytest.approx(absolute.magnitude, rel=1e-12)
    assert any("practical salinity" in text for text in practical.assumptions)
    assert not any("practical salinity" in text for text in absolute.assumptions)


def test_the_state_and_the_slopes_name_the_salinity(pending: Database) -> None:
    document = pending.value("seawater", "density", temperature="15 degC", salinity="20 g/kg").document()
    assert document["state"]["salinity"] == {"magnitude": 20.0, "unit": "g/kg", "ucum": "g/kg"}
    assert document["slope"]["salinity"]["unit"] == "kg/m3/(g/kg)"
    assert document["valid_range"]["temperature"] == ["freezing", "40 degC"]


@pytest.mark.parametrize("property_id", PROPERTIES)
def test_sea_water_without_a_salinity_is_refused_with_an_example(pending: Database, property_id: str) -> None:
    with pytest.raises(MissingState, match="such as 35 g/kg or 35 psu") as caught:
        pending.value("seawater", property_id, temperature="15 degC")
    assert caught.value.extensions["parameter"] == "salinity"


def test_a_salinity_given_to_pure_water_is_refused_not_ignored(pending: Database) -> None:
    with pytest.raises(BadParameter, match="does not depend on it; leave it out"):
        pending.value("water", "sound_speed", temperature="15 degC", salinity="35 g/kg")
    with pytest.raises(BadParameter, match="strength"):
        pending.value("water", "sound_speed", temperature="15 degC", strength="30 % mass")


def test_a_salinity_below_nothing_or_beyond_the_range_is_refused(pending: Database) -> None:
    with pytest.raises(BadQuantity, match="below nothing"):
        pending.value("seawater", "density", temperature="15 degC", salinity="-1 g/kg")
    with pytest.raises(OutsideRange, match="from 0 g/kg to 42 g/kg"):
        pending.value("seawater", "density", temperature="15 degC", salinity="60 g/kg")


def test_sea_water_is_liquid_below_zero_and_refused_below_its_own_freezing_point(pending: Database) -> None:
    assert pending.value("seawater", "density", temperature="-1.5 degC", salinity="35 psu").magnitude > 1028.0
    with pytest.raises(OutsideRange, match=r"freezes at -1\.919 degC") as caught:
        pending.value("seawater", "density", temperature="-2.5 degC", salinity="35 psu")
    assert caught.value.extensions["parameter"] == "temperature"
    with pytest.raises(OutsideRange, match=r"freezes at -0\.27"):
        pending.value("seawater", "density", temperature="-0.5 degC", salinity="5 psu")


def test_an_array_is_refused_if_any_of_it_is_frozen(pending: Database) -> None:
    cold = Quantity(np.array([5.0, -1.0, -3.0]), units().find("degC", "temperature"))
    with pytest.raises(OutsideRange, match="freezes"):
        pending.value("seawater", "density", temperature=cold, salinity="35 g/kg")


def test_the_freezing_point_needs_no_temperature(pending: Database) -> None:
    answer = pending.value("seawater", "freezing_point", salinity="35 psu")
    assert answer.magnitude == pytest.approx(-1.92, abs=0.01)
    assert answer.celsius is None
    assert "temperature" not in answer.document()["state"]


def test_a_row_near_1_atm_says_so_when_a_pressure_is_given(pending: Database) -> None:
    answer = pending.value(
        "seawater", "dynamic_viscosity", temperature="15 degC", salinity="35 psu", pressure="8 bar(g)"
    )
    assert any("says nothing of the pressure given" in text for text in answer.assumptions)


def test_the_permanent_link_repeats_the_answer(pending: Database) -> None:
    answer = pending.value("seawater", "sound_speed", temperature="12.3 degC", salinity="31 psu", pressure="4 bar(g)")
    query = dict(parse_qsl(urlsplit(answer.permalink).query))
    again = pending.value(
        query["subject"],
        query["property"],
        temperature=query["temperature"],
        pressure=query["pressure"],
        salinity=query["salinity"],
        release=query["release"],
    )
    assert (again.magnitude, again.digest) == (pytest.approx(answer.magnitude, rel=1e-11), answer.digest)
