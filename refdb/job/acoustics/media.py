"""The media that a job's sound crosses: wedge, couplant, wall, lining and liquid, and what they absorb."""

from __future__ import annotations

import math

from refdb.job.acoustics.ray import speed_of
from refdb.job.acoustics.waves import Medium, Mode
from refdb.job.inputs.held import Inputs, from_row
from refdb.job.inputs.solid import number_of, solid
from refdb.job.quantities import positive
from refdb.lookup.find import subject_named
from refdb.problems import BadParameter, Problem
from refdb.values.value import Answer

DECIBELS_PER_NEPER = 20.0 / math.log(10.0)
COUPLANT = Medium(1500.0, None, 1000.0)
"""A gel of water or an oil, m/s and kg/m3 (common practice, no source)."""
WEDGE_DENSITY, WEDGE_SHEAR = 1180.0, 0.49
"""kg/m3, and of the longitudinal speed: a plastic wedge of which only one speed is told (judgement)."""

Ends = tuple[float, float]
ABSORBS: dict[str, dict[Mode, Ends]] = {
    "thermoplastic": {"longitudinal": (50.0, 600.0), "shear": (200.0, 3000.0)},
    "fluoropolymer": {"longitudinal": (200.0, 1500.0), "shear": (500.0, 6000.0)},
    "thermoset": {"longitudinal": (50.0, 600.0), "shear": (100.0, 1500.0)},
    "composite": {"longitudinal": (100.0, 1500.0), "shear": (200.0, 3000.0)},
    "elastomer": {"longitudinal": (200.0, 5000.0), "shear": (5000.0, 100000.0)},
    "bituminous": {"longitudinal": (300.0, 5000.0), "shear": (1000.0, 20000.0)},
    "cementitious": {"longitudinal": (20.0, 400.0), "shear": (40.0, 800.0)},
    "masonry": {"longitudinal": (20.0, 400.0), "shear": (40.0, 800.0)},
}
"""dB/m at 1 MHz, by family, where neither the job nor the release tells: wide on purpose (judgement; polyethylene of
pipes has 300 dB/m for longitudinal waves there: Mažeika and others, Ultragarsas, 2010)."""
HARD_ABSORBS: dict[Mode, Ends] = {"longitudinal": (0.0, 20.0), "shear": (0.0, 40.0)}
"""The same of metals and glasses, and of materials without a name (judgement)."""


def note(inputs: Inputs, text: str) -> None:
    """Put a text among the assumptions once."""
    if text not in inputs.assumptions:
        inputs.assumptions.append(text)


def medium(inputs: Inputs, where: str) -> Medium:
    """The wall (`pipe`) or its lining (`pipe.lining`).

    Raises:
        Problem: a speed or the density is neither given nor in the release.
        BadParameter: the shear speed is not below the longitudinal one.
    """
    section = inputs.job.pipe if where == "pipe" else inputs.job.pipe.lining
    assert section is not None  # noqa: S101 - linings are asked for where there is one
    density = number_of(solid(inputs, section.material, "density", section.density, f"{where}.density", bounded=True))
    longitudinal = speed_of(inputs, "longitudinal", where)
    shear = speed_of(inputs, "shear", where)
    if shear >= longitudinal:
        raise BadParameter(
            f"{where}.shear_speed: {shear:.0f} m/s is not below the longitudinal {longitudinal:.0f} m/s, as in every "
            "solid; exchange the two or look again.",
            parameter=f"{where}.shear_speed",
        )
    return Medium(longitudinal, shear, density)


def liquid(inputs: Inputs) -> Medium:
    """The liquid."""
    return Medium(inputs.value("sound speed"), None, inputs.value("density"))


def wedge(inputs: Inputs) -> Medium:
    """The wedge by its data; what they leave out is that of a usual plastic, and said so.

    Raises:
        BadParameter: the two speeds contradict each other.
    """
    sensors = inputs.job.sensors
    own = inputs.value("wedge speed")
    density = WEDGE_DENSITY
    if sensors.density is not None:
        density = positive(sensors.density, "density", "sensors.density")
    ratio = WEDGE_SHEAR if sensors.wave == "longitudinal" else 1.0 / WEDGE_SHEAR
    other = ratio * own
    if sensors.other_speed is not None:
        other = positive(sensors.other_speed, "speed", "sensors.other_speed")
    if sensors.density is None or sensors.other_speed is None:
        note(
            inputs,
            f"sensors.density and sensors.other_speed not given: the wedge is taken as {density:.0f} kg/m3 with "
            f"{other:.0f} m/s, as plastics have; the loss in the contact depends on it (judgement)",
        )
    first, second = (own, other) if sensors.wave == "longitudinal" else (other, own)
    if second >= first:
        raise BadParameter(
            "sensors.other_speed: the shear speed of a solid is below its longitudinal one; exchange them or `wave`.",
            parameter="sensors.other_speed",
        )
    return Medium(first, second, density)


def absorbed(inputs: Inputs, where: str, mode: Mode) -> Ends:
    """Least and most that a wave loses in the wall (`pipe`) or its lining (`pipe.lining`) at the sensors' frequency.

    Returns:
        Np/m; both ends are what the job gives, where it gives it.
    """
    section = inputs.job.pipe if where == "pipe" else inputs.job.pipe.lining
    assert section is not None  # noqa: S101 - linings are asked for where there is one
    text = getattr(section, f"{mode}_absorption")
    if text is not None:
        amount = positive(text, "absorption", f"{where}.{mode}_absorption")
        return amount, amount
    of_row = _of_row(inputs, section.material, where, mode)
    if of_row is not None:
        return of_row
    family = _family(inputs, section.material)
    low, high = ABSORBS.get(family, HARD_ABSORBS)[mode]
    if family in ABSORBS:
        note(
            inputs,
            f"{where}.{mode}_absorption not given: {low:g} dB/m to {high:g} dB/m at 1 MHz, as of its kin ({family}), "
            "rising with the frequency (judgement)",
        )
    megahertz = inputs.value("frequency") / 1e6
    return low * megahertz / DECIBELS_PER_NEPER, high * megahertz / DECIBELS_PER_NEPER


def _of_row(inputs: Inputs, material: str | None, where: str, mode: Mode) -> Ends | None:
    """What the release says of a material's loss per wavelength, at the sensors' frequency; None where it says nothing.

    Its uncertainty is that of a logarithm: both ends are a factor away, twice its standard uncertainty.
    """
    if material is None:
        return None
    try:
        found = solid(inputs, material, f"{mode}_attenuation", None, f"{where}.{mode}_absorption")
    except Problem:
        return None
    label = f"{'wall' if where == 'pipe' else 'lining'} {mode} attenuation"
    assert isinstance(found, Answer)  # noqa: S101 - neither given nor bounded
    kept = inputs.keep(from_row(label, found, "attenuation_per_wavelength"), notes=False)
    note(inputs, f"{where}.{mode}_absorption not given: row {found.row}, taken to rise with the frequency")
    per_length = kept.value * inputs.value("frequency") / speed_of(inputs, mode, where)
    factor = math.exp(2.0 * kept.uncertainty / kept.value)
    return per_length / factor, per_length * factor


def _family(inputs: Inputs, material: str | None) -> str:
    if material is None:
        return ""
    try:
        return str(subject_named(inputs.database.store, material, inputs.release, "material").body.get("family"))
    except Problem:
        return ""
