"""Plane waves through layers, and the spreading of a beam, against closed forms and direct integration."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refdb.job.acoustics.diffraction import piston_loss
from refdb.job.acoustics.layered import Slab, transmitted
from refdb.job.acoustics.waves import Medium, Mode, scatter

WEDGE = Medium(2450.0, 1200.0, 1180.0)
STEEL = Medium(5920.0, 3230.0, 7850.0)
PLASTIC = Medium(2300.0, 1000.0, 950.0)
WATER = Medium(1482.0, None, 998.0)
FILM = Medium(1500.0, None, 1000.0)
ALONG = math.sin(math.radians(38.0)) / 2450.0
FREQUENCIES = np.linspace(0.8e6, 1.2e6, 41)

SOLIDS = st.builds(Medium, st.floats(1800.0, 6500.0), st.floats(800.0, 1250.0), st.floats(900.0, 9000.0)) | st.just(
    STEEL
)
THICKNESSES = st.floats(1e-5, 0.03)


@pytest.mark.parametrize("slab", [STEEL, PLASTIC, FILM])
def test_a_plate_in_a_liquid_passes_what_the_formula_of_textbooks_says(slab: Medium) -> None:
    """Normal incidence: T = 1/(1 + (m - 1/m)²/4 sin² kd), m the ratio of impedances (Kinsler and Frey, Fundamentals of
    Acoustics, section on transmission through three media; by memory)."""
    thickness = 0.006
    ratio = slab.density * slab.longitudinal / (WATER.density * WATER.longitudinal)
    phase = 2.0 * math.pi * FREQUENCIES * thickness / slab.longitudinal
    expected = 1.0 / (1.0 + 0.25 * (ratio - 1.0 / ratio) ** 2 * np.sin(phase) ** 2)
    found = transmitted(WATER, "longitudinal", [Slab(slab, thickness, {})], WATER, 0.0, FREQUENCIES)
    np.testing.assert_allclose(found, expected, rtol=1e-10)


@given(SOLIDS, THICKNESSES, st.sampled_from([0.0, 2e-5, 1e-4]))
def test_what_passes_inward_passes_outward(wall: Medium, thickness: float, film: float) -> None:
    """Reciprocity of lossless layers, in energy, for one wave in the wedge and the one in the liquid."""
    layers = [Slab(wall, thickness, {})]
    if film:
        layers = [Slab(FILM, film, {}), *layers]
    fluid = Medium(2450.0, None, 1180.0)  # a wedge that carries one wave only, so that nothing else can go out
    inward = transmitted(fluid, "longitudinal", layers, WATER, ALONG, FREQUENCIES)
    outward = transmitted(WATER, "longitudinal", layers[::-1], fluid, ALONG, FREQUENCIES)
    np.testing.assert_allclose(inward, outward, rtol=1e-6, atol=1e-9)
    assert np.all((inward >= 0.0) & (inward <= 1.0 + 1e-9))


@pytest.mark.parametrize("mode", ["longitudinal", "shear"])
def test_without_thickness_nothing_but_the_interface_is_left(mode: Mode) -> None:
    alone = sum(scatter(WEDGE, WATER, mode, ALONG).transmitted.values())
    for slips in (True, False):
        layer = Slab(STEEL, 1e-12, {}, slips=slips)
        np.testing.assert_allclose(transmitted(WEDGE, mode, [layer], WATER, ALONG, FREQUENCIES), alone, rtol=1e-6)
    np.testing.assert_allclose(transmitted(WEDGE, mode, [], WATER, ALONG, FREQUENCIES), alone, rtol=1e-9)


def test_a_film_that_vanishes_is_a_contact_that_slips() -> None:
    wall = Slab(STEEL, 0.006, {})
    thin = transmitted(WEDGE, "longitudinal", [Slab(FILM, 1e-9, {}), wall], WATER, ALONG, FREQUENCIES)
    slipping = transmitted(WEDGE, "longitudinal", [Slab(STEEL, 0.006, {}, slips=True)], WATER, ALONG, FREQUENCIES)
    np.testing.assert_allclose(thin, slipping, rtol=1e-3)


def test_six_millimetres_of_steel_lose_between_2_and_40_decibels_within_a_fifth_of_the_frequency() -> None:
    """What a layered model written independently of this one gave for this wall, in and out."""
    lost = -20.0 * np.log10(
        transmitted(WEDGE, "longitudinal", [Slab(STEEL, 0.006, {}, slips=True)], WATER, ALONG, FREQUENCIES)
    )
    assert lost.min() == pytest.approx(2.4, abs=0.1)
    assert lost.max() == pytest.approx(40.0, abs=0.5)


def test_absorption_takes_what_it_should_where_nothing_echoes() -> None:
    """Through a layer of the liquid itself: 20 Np/m over 10 mm at the angle of the sound."""
    cosine = math.sqrt(1.0 - (ALONG * WATER.longitudinal) ** 2)
    layer = Slab(WATER, 0.01, {"longitudinal": 20.0})
    found = transmitted(WATER, "longitudinal", [layer], WATER, ALONG, FREQUENCIES)
    np.testing.assert_allclose(found, math.exp(-2.0 * 20.0 * 0.01 / cosine), rtol=1e-9)


@pytest.mark.parametrize("apart", [0.3, 1.1, 3.0, 12.0])
def test_the_spreading_between_two_discs_is_that_of_the_field_of_a_piston(apart: float) -> None:
    """The mean pressure over a disc as an integral over wave numbers (King 1934, by memory), done by quadrature.

    <p> = 2 integral J1(x)²/x exp(i z sqrt(k² - x²/a²)) dx, against exp(ikz); distance in near-field lengths a²/λ.
    """
    from scipy.special import j1

    radius, wavelength = 0.006, 0.0005
    distance = apart * radius**2 / wavelength
    wave = 2.0 * math.pi / wavelength
    x = np.linspace(1e-6, wave * radius * (1.0 - 1e-9), 4_000_001)
    across = np.sqrt(wave**2 - (x / radius) ** 2)
    field = 2.0 * np.trapezoid(j1(x) ** 2 / x * np.exp(1j * distance * (across - wave)), x)
    assert piston_loss(radius, distance, wavelength) == pytest.approx(-20.0 * math.log10(abs(field)), abs=0.05)
