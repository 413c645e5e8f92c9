"""Solutions are answered where they are known to be liquid, and say what nobody checked."""

from __future__ import annotations

import numpy as np
import pytest

from refdb import Quantity
from refdb.database import Database
from refdb.problems import OutsideRange
from refdb.units import units

FREEZING = "Freezing and crystallising were not checked: no curve of either was seen that covers this row."
BOILING = "Boiling was not checked: what is dissolved evaporates too, and no vapour pressure of the solution was seen."


def warnings(database: Database, subject: str, property_id: str, **state: str) -> list[str]:
    return list(database.value(subject, property_id, **state).document()["warnings"])


def test_a_salt_or_base_is_refused_below_the_pressure_at_which_water_boils(pending: Database) -> None:
    """47.41 kPa: water at 80 degC by IAPWS-95. By Raoult's law the solution boils lower, but nobody saw where."""
    state = {"temperature": "80 degC", "strength": "30 % mass"}
    with pytest.raises(OutsideRange, match=r"known to be liquid only above 47\.41 kPa absolute") as caught:
        pending.value("sodium-hydroxide-water", "density", **state, pressure="47 kPa")
    assert caught.value.extensions["parameter"] == "pressure"
    assert pending.value("sodium-hydroxide-water", "density", **state, pressure="47.5 kPa").magnitude > 1000.0


def test_at_1_atm_the_rows_own_tables_say_that_the_solution_is_liquid(pending: Database) -> None:
    """Water boils at 99.97 degC there; a row that reaches 100 degC is answered as before."""
    state = {"temperature": "100 degC", "strength": "30 % mass"}
    plain = pending.value("sodium-hydroxide-water", "density", **state).magnitude
    assert pending.value("sodium-hydroxide-water", "density", **state, pressure="1 atm").magnitude == plain


def test_what_is_derived_from_a_density_is_guarded_like_it(pending: Database) -> None:
    state = {"temperature": "60 degC", "strength": "30 % mass", "pressure": "10 kPa"}
    for property_id in ("kinematic_viscosity", "thermal_expansion"):
        with pytest.raises(OutsideRange, match="where not even water boils"):
            pending.value("ethylene-glycol-water", property_id, **state)


def test_lithium_bromide_is_guarded_by_its_own_vapour_pressure(pending: Database) -> None:
    """Strong solutions are run far below the saturation pressure of water: that is what absorption chillers live on."""
    state = {"temperature": "60 degC", "strength": "55 % mass"}
    boils = pending.value("lithium-bromide-water", "saturation_pressure", **state).magnitude
    assert boils < 0.25 * 19946.4  # water at 60 degC by IAPWS-95
    assert (
        pending.value("lithium-bromide-water", "density", **state, pressure=f"{1.01 * boils:.6g} Pa").magnitude > 1500
    )
    with pytest.raises(OutsideRange, match="its saturation pressure"):
        pending.value("lithium-bromide-water", "density", **state, pressure=f"{0.99 * boils:.6g} Pa")


def test_many_states_are_masked_as_one_is_refused(pending: Database) -> None:
    celsius = Quantity(np.array([20.0, 80.0, 95.0]), units().find("degC"))
    strength, pressure = Quantity(0.3, units().find("kg/kg")), Quantity(50000.0, units().find("Pa"))
    state = {"temperature": celsius, "strength": strength, "pressure": pressure}
    part = pending.batch("sodium-hydroxide-water", ["density"], state=state).parts[0]
    assert np.isnan(part.value).tolist() == [False, False, True]


def test_what_evaporates_with_the_water_is_told_not_refused(pending: Database) -> None:
    found = warnings(pending, "ethanol-water", "sound_speed", temperature="20 degC", strength="30 % mass")
    assert BOILING in found


def test_a_row_without_a_freezing_curve_says_so_and_passes_it_on(pending: Database) -> None:
    state = {"temperature": "20 degC", "strength": "40 % mass"}
    for property_id in ("density", "dynamic_viscosity", "kinematic_viscosity", "thermal_expansion"):
        assert FREEZING in warnings(pending, "sodium-hydroxide-water", property_id, **state)


def test_a_row_with_a_freezing_curve_refuses_ice_and_warns_of_nothing(pending: Database) -> None:
    strong = {"strength": "30 % mass"}
    found = warnings(pending, "propylene-glycol-water", "density", temperature="0 degC", **strong)
    assert FREEZING not in found
    assert BOILING not in found
    with pytest.raises(OutsideRange, match="freezes at"):
        pending.value("propylene-glycol-water", "density", temperature="-20 degC", **strong)


def test_a_row_that_begins_above_every_freezing_point_of_its_strengths_needs_no_warning(pending: Database) -> None:
    """Ammonia water of 30 % and less freezes below 0 degC, and the row of its sound speed begins at 0.01 degC."""
    found = warnings(pending, "ammonia-water", "sound_speed", temperature="20 degC", strength="10 % mass")
    assert FREEZING not in found
