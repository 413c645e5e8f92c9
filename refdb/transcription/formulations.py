"""Formulations that a library computes: sea water by gsw, water and ice by iapws."""

from __future__ import annotations

import re

from refdb.constants import KELVIN_AT_0_CELSIUS, STANDARD_ATMOSPHERE
from refdb.forms.states import StatePoint
from refdb.records.models import PropertyReading, Source
from refdb.transcription.equations import LibraryEquation, Value
from refdb.transcription.libraries import Library, module_of

SEA_WATER = {"rho_t_exact": "kg/m3", "cp_t_exact": "J/(kg.K)", "sound_speed_t_exact": "m/s", "t_freezing": "degC"}
"""The functions of gsw that are asked, with the units of their values."""

WATER = {"rho": "kg/m3", "w": "m/s"}
"""The outputs of IAPWS95 of iapws that are asked, with their units."""

ICE_III, TRIPLE_POINT = 251.165, 273.16
"""K, between which ice Ih melts under pressure (IAPWS R14-08)."""

_SEA_WATER = re.compile(r"gsw [\d.]+, (?P<function>\w+)\(")
_WATER = re.compile(r"IAPWS95\(T, P=(?P<megapascals>[\d.]+)\)\.(?P<output>\w+) of iapws ")
_MELTING = re.compile(r"iapws [\d.]+, root in T of the melting pressure of ice Ih at (?P<megapascals>[\d.]+) MPa")


def of_gsw(library: Library, reading: PropertyReading, source: Source) -> LibraryEquation | None:  # noqa: ARG001 - as of all
    """The function of TEOS-10 that a locator names, of sea pressure counted from one atmosphere; None for another."""
    asked = _SEA_WATER.match(reading.locator)
    if asked is None or asked["function"] not in SEA_WATER:
        return None
    name = asked["function"]

    def prepared() -> Value:
        function = getattr(module_of(library, "gsw"), name)

        def value(state: StatePoint) -> float:
            decibars = (state.pascals - STANDARD_ATMOSPHERE) / 1e4
            if name == "t_freezing":
                return float(function(state.salinity, decibars, 0))
            return float(function(state.salinity, state.celsius, decibars))

        return value

    return LibraryEquation(library, SEA_WATER[name], prepared)


def of_iapws(library: Library, reading: PropertyReading, source: Source) -> LibraryEquation | None:  # noqa: ARG001 - as of all
    """IAPWS-95 at the pressure that a locator names, or the temperature at which ice Ih melts; None for another."""
    water, melting = _WATER.match(reading.locator), _MELTING.match(reading.locator)
    if water is not None and water["output"] in WATER:
        return LibraryEquation(library, WATER[water["output"]], lambda: _water(library, water))
    if melting is not None:
        return LibraryEquation(library, "K", lambda: _melting(library, float(melting["megapascals"])))
    return None


def _water(library: Library, asked: re.Match[str]) -> Value:
    water = module_of(library, "iapws").IAPWS95
    pressure, output = float(asked["megapascals"]), asked["output"]
    return lambda state: float(getattr(water(T=state.celsius + KELVIN_AT_0_CELSIUS, P=pressure), output))


def _melting(library: Library, megapascals: float) -> Value:
    from scipy.optimize import root_scalar

    pressure = module_of(library, "iapws")._Melting_Pressure
    ends = (ICE_III + 1e-3, TRIPLE_POINT - 1e-5)
    return lambda _: float(root_scalar(lambda kelvin: pressure(kelvin, "Ih") - megapascals, bracket=ends).root)
