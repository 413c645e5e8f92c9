"""Emulsions and slurries beside what was measured of them, and beside other laws of physics."""

from __future__ import annotations

import pytest

from refdb.database import Database
from refdb.suspensions.equation import Mixture, Warmth, compressible_phase, liquid_phase
from refdb.units import Quantity, units
from refdb.values.options import Options, read_options

ESTIMATES: Options = read_options(accept="estimates")
NO_WARMTH = (Warmth(0.0, 1e6), Warmth(0.0, 1e6))


def _of(value: float, dimension: str) -> Quantity:
    return Quantity(value, units().si(dimension))


# Kaolinite in water at a porosity of 77 %, 100 to 150 kHz: 1422 m/s, temperature not stated (thesis, Naval Postgraduate
# School, 1972, abstract in DTIC AD0742928). No numbers of kaolinite's grains were seen; those of quartz, another
# silicate, are 2.65 g/cm3 and 36.6 GPa (Crain's handbook, spec2000.net, as examples/materials.jl of EffectiveWaves.jl
# quotes it). A room has 15 to 25 degC; 2 um is the usual limit of clay (common practice, no source).
def test_kaolinite_in_water(database: Database) -> None:
    at = [
        database.suspension(
            continuous="water",
            solid_density="2650 kg/m3",
            solid_compressibility=f"{1 / 36.6} 1/GPa",
            fraction="23 % vol",
            temperature=f"{celsius} degC",
            particle_size="2 um",
            frequency="125 kHz",
        )
        for celsius in (15, 20, 25)
    ]
    cool, room, warm = (found.sound_speed for found in at)
    doubt = at[1].standard_uncertainty
    assert cool is not None
    assert room is not None
    assert warm is not None
    assert doubt is not None
    assert cool < 1422.0 < warm
    assert abs(room - 1422.0) < 2.0 * doubt < 12.0


# Corn oil in water, volume fractions 0 to 0.5, drops of 0.1 to 0.5 um: "around 15 degC the ultrasonic velocity was
# fairly insensitive to oil concentration. Below this temperature, it increased with oil concentration, whilst above it
# decreased" (Effect of temperature on the ultrasonic properties of oil-in-water emulsions, Colloids and Surfaces A,
# abstract). The speed of corn oil is an estimate; drops so small are as warm as the water, so that the measured
# temperature is that between Wood's and the warmed speed.
def test_corn_oil_neither_slows_nor_hastens_water_near_15_degc(database: Database) -> None:
    def changed(celsius: float) -> tuple[float, float]:
        found = database.suspension(
            continuous="water",
            dispersed="corn-oil",
            fraction="25 % vol",
            temperature=f"{celsius} degC",
            options=ESTIMATES,
        )
        water = found.mixture.continuous.speed
        return found.mixture.speed(0.25) - water, found.mixture.warmed_speed(0.25) - water

    assert min(changed(5.0)) < max(changed(5.0))
    assert changed(5.0)[0] > 0.0
    assert changed(15.0)[0] > 0.0 > changed(15.0)[1]
    assert max(changed(25.0)) < 0.0


# Rayleigh's dipole: far apart, spheres that nothing drags along change the density that sound meets by
# 3 phi (rho2 - rho1) / (2 rho2 + rho1) (Landau and Lifshitz, Fluid Mechanics, paragraph 11: a sphere in ideal fluid).
@pytest.mark.parametrize("density", [300.0, 920.0, 2650.0, 7800.0])
def test_few_loose_spheres_change_the_density_as_in_an_ideal_fluid(density: float) -> None:
    water = liquid_phase(_of(1000.0, "density"), 0.0, _of(1500.0, "speed"), 0.0)
    same = _of(water.compressibility, "compressibility")
    mixture = Mixture(water, compressible_phase(_of(density, "density"), 0.0, same, 0.0), NO_WARMTH, 293.15)
    few = 1e-5
    met = 1.0 / (water.compressibility * mixture.slipping_speed(few) ** 2)
    assert (met / 1000.0 - 1.0) / few == pytest.approx(3.0 * (density - 1000.0) / (2.0 * density + 1000.0), rel=1e-3)


# Thermodynamics: two parts at one temperature are together as compressible as their isothermal compressibilities, their
# expansions and their heat capacities say, kappa_S = kappa_T - T alpha² / h of the whole. Numbers near those of hexane
# and water at 25 degC; the law holds for any.
def test_the_warmed_limit_is_that_of_the_whole_in_equilibrium() -> None:
    kelvin, volume = 298.15, 0.3
    water = liquid_phase(_of(997.0, "density"), 0.0, _of(1497.0, "speed"), 0.0)
    hexane = liquid_phase(_of(655.0, "density"), 0.0, _of(1077.0, "speed"), 0.0)
    warmth = (Warmth(2.6e-4, 4.17e6), Warmth(1.4e-3, 1.48e6))
    parts = ((1.0 - volume, water, warmth[0]), (volume, hexane, warmth[1]))
    isothermal = sum(
        share * (phase.compressibility + kelvin * warm.expansion**2 / warm.capacity) for share, phase, warm in parts
    )
    expansion = sum(share * warm.expansion for share, _, warm in parts)
    capacity = sum(share * warm.capacity for share, _, warm in parts)
    whole = isothermal - kelvin * expansion**2 / capacity
    mixture = Mixture(water, hexane, warmth, kelvin)
    assert mixture.warmed_speed(volume) == pytest.approx((mixture.density(volume) * whole) ** -0.5, rel=1e-12)


# A rule of mixing is no rule of solutions: measured speeds of ethanol in water at 20 degC (doi
# 10.1016/j.jct.2018.02.022, in the row) beside Wood's equation of the same two liquids. This is why they are refused.
def test_wood_is_wrong_by_some_20_percent_for_ethanol_in_water(database: Database) -> None:
    phases = []
    for subject in ("water", "ethanol"):
        density, speed = (
            database.value(subject, name, temperature="20 degC").value for name in ("density", "sound_speed")
        )
        phases.append(liquid_phase(density, 0.0, speed, 0.0))
    mixture = Mixture(phases[0], phases[1], NO_WARMTH, 293.15)
    off = []
    for percent in (10, 20, 30, 40, 50, 60):
        row = database.value("ethanol-water", "sound_speed", temperature="20 degC", strength=f"{percent} % mass")
        off.append(mixture.speed(mixture.volume_fraction(percent / 100.0, "mass")) / float(row.magnitude) - 1.0)
    assert -0.22 < min(off) < -0.17
    assert max(off) < -0.08
