"""Laws that waves at interfaces and rays through layers must keep, whatever the materials."""

from __future__ import annotations

import cmath
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refdb.job.acoustics.spacing import Layer, spacing, time_in_layers, time_in_liquid, total_time
from refdb.job.acoustics.waves import Medium, Mode, scatter

SPEEDS = st.floats(1200.0, 7000.0)
DENSITIES = st.floats(700.0, 12_000.0)
# Poisson's ratios from 0.05 to 0.45: shear over longitudinal speed from 0.30 to 0.69.
SOLIDS = st.builds(
    lambda speed, ratio, density: Medium(speed, ratio * speed, density), SPEEDS, st.floats(0.30, 0.69), DENSITIES
)
LIQUIDS = st.builds(
    lambda speed, density: Medium(speed, None, density), st.floats(700.0, 2200.0), st.floats(600.0, 2000.0)
)
MODES = st.sampled_from(("longitudinal", "shear"))
PARTS = st.floats(0.01, 0.99)


def _slowness(medium: Medium, mode: Mode, part: float) -> float:
    """A slowness at which the incident wave travels, kept off the critical angles where the equations are singular."""
    speed = medium.speed(mode)
    assert speed is not None
    return part / speed


@given(SOLIDS, SOLIDS, MODES, PARTS, st.booleans())
def test_an_interface_of_two_solids_neither_makes_nor_loses_energy(
    first: Medium, second: Medium, mode: Mode, part: float, slips: bool
) -> None:
    told = scatter(first, second, mode, _slowness(first, mode, part), slips=slips)
    assert sum(told.reflected.values()) + sum(told.transmitted.values()) == pytest.approx(1.0, abs=1e-8)


@given(SOLIDS, LIQUIDS, MODES, PARTS)
def test_an_interface_of_solid_and_liquid_neither_makes_nor_loses_energy(
    solid: Medium, liquid: Medium, mode: Mode, part: float
) -> None:
    for first, second, wave in ((solid, liquid, mode), (liquid, solid, "longitudinal")):
        told = scatter(first, second, wave, _slowness(first, wave, part))
        assert sum(told.reflected.values()) + sum(told.transmitted.values()) == pytest.approx(1.0, abs=1e-8)


@given(SOLIDS, SOLIDS, MODES, MODES, PARTS, st.booleans())
def test_what_passes_one_way_passes_the_other_way(
    first: Medium, second: Medium, mode: Mode, onward: Mode, part: float, slips: bool
) -> None:
    """Reciprocity: the part of the energy that changes from one wave into another is the same backwards."""
    along = min(_slowness(first, mode, part), _slowness(second, onward, part))
    there = scatter(first, second, mode, along, slips=slips).transmitted[onward]
    back = scatter(second, first, onward, along, slips=slips).transmitted[mode]
    assert back == pytest.approx(there, abs=1e-8)


@given(SOLIDS, LIQUIDS, PARTS)
def test_reflection_in_a_liquid_is_that_of_brekhovskikh(solid: Medium, liquid: Medium, part: float) -> None:
    """Brekhovskikh, Waves in Layered Media: |Z - Z1| / |Z + Z1|, Z = Zl cos2(2g) + Zt sin2(2g), g the shear's angle."""
    assert solid.shear is not None
    along = _slowness(liquid, "longitudinal", part)

    def impedance(density: float, speed: float) -> complex:
        return density / cmath.sqrt(1.0 / speed**2 - along**2)

    double = 2.0 * cmath.asin(along * solid.shear)
    longitudinal, shear = (impedance(solid.density, speed) for speed in (solid.longitudinal, solid.shear))
    wall = longitudinal * cmath.cos(double) ** 2 + shear * cmath.sin(double) ** 2
    own = impedance(liquid.density, liquid.longitudinal)
    expected = abs((wall - own) / (wall + own)) ** 2
    assert scatter(liquid, solid, "longitudinal", along).reflected["longitudinal"] == pytest.approx(expected, abs=1e-7)


def test_a_film_that_slips_lets_no_shear_through_at_normal_incidence() -> None:
    wedge, steel = Medium(2700.0, 1300.0, 1180.0), Medium(5900.0, 3230.0, 7850.0)
    assert scatter(wedge, steel, "shear", 0.0, slips=True).transmitted["shear"] == pytest.approx(0.0, abs=1e-15)
    assert scatter(wedge, steel, "shear", 0.0).transmitted["shear"] > 0.1


ALONGS = st.floats(2e-5, 2.5e-4)
LAYERS = st.lists(st.builds(Layer, st.floats(1e-4, 0.05), st.floats(500.0, 3900.0)), max_size=4)
WAYS: dict[str, Any] = {"passes": st.integers(1, 6), "bore": st.floats(0.01, 3.0), "speed": st.floats(700.0, 2200.0)}


@given(**WAYS, layers=LAYERS, along=ALONGS)
def test_the_whole_time_at_the_spacing_of_the_ray_is_the_sum_of_its_parts(
    passes: int, bore: float, speed: float, layers: list[Layer], along: float
) -> None:
    place = spacing(passes, bore, speed, layers, along)
    parts = time_in_liquid(passes, bore, speed, along) + time_in_layers(layers, along)
    assert float(total_time(passes, bore, speed, layers, along, place)) == pytest.approx(float(parts), rel=1e-12)


@given(**WAYS, layers=LAYERS, along=ALONGS)
def test_of_all_rays_to_one_spacing_the_one_through_it_takes_longest_in_slowness(
    passes: int, bore: float, speed: float, layers: list[Layer], along: float
) -> None:
    """Fermat: at a fixed spacing the time T(s) does not change with the slowness to first order."""
    place = float(spacing(passes, bore, speed, layers, along))
    step = 1e-4 * along
    times = [
        float(total_time(passes, bore, speed, layers, each, place)) for each in (along - step, along, along + step)
    ]
    assert abs(times[2] - times[0]) / 2.0 <= 1e-6 * step * place + 1e-15
    assert max(times) == pytest.approx(times[1], rel=1e-12)


@given(**WAYS, layers=LAYERS, along=ALONGS, shift=st.floats(-0.01, 0.01))
def test_a_spacing_set_wrong_shifts_the_whole_time_by_slowness_times_shift(
    passes: int, bore: float, speed: float, layers: list[Layer], along: float, shift: float
) -> None:
    place = float(spacing(passes, bore, speed, layers, along))
    times = [float(total_time(passes, bore, speed, layers, along, each)) for each in (place, place + shift)]
    assert times[1] - times[0] == pytest.approx(along * shift, abs=1e-15)


@given(**WAYS, along=ALONGS, change=st.floats(-1e-4, 1e-4))
def test_a_bore_entered_wrong_shifts_the_speed_by_the_square_of_the_cosine(
    passes: int, bore: float, speed: float, along: float, change: float
) -> None:
    """At fixed spacing and time, dc/c = cos2(theta) dD/D, dD the bore entered less the true one."""
    observed = passes * bore * math.sqrt(1.0 / speed**2 - along**2)
    shown = 1.0 / math.hypot(observed / (passes * bore * (1.0 + change)), along)
    cosine = 1.0 - (along * speed) ** 2
    assert shown / speed - 1.0 == pytest.approx(cosine * change, abs=3.0 * change**2 + 1e-13)
