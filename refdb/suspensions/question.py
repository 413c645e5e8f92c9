"""What is asked about an emulsion or a slurry."""

from __future__ import annotations

from refdb.questions import Question, asked, question
from refdb.questions.groups import AskedEstimates, AskedRelease
from refdb.units.sizes import Given
from refdb.vocabulary import STRENGTHS


@question
class SuspensionQuestion(Question):
    """A continuous liquid, what is dispersed in it, and how much, or the speed that was measured."""

    continuous: str = asked(
        "The liquid that carries particles or drops, by any exact name.", "water", required=True, positional=True
    )
    dispersed: str | None = asked(
        "A liquid that does not mix with it, or a material; left out for a solid given by its own numbers.",
        "toluene",
        positional=True,
    )
    fraction: Given | None = asked(
        "Of what is dispersed: % vol or % mass.", "10 % vol", dimension=("volume_fraction", "mass_fraction")
    )
    fraction_uncertainty: Given | None = asked(
        "Standard uncertainty of the fraction, on the same basis; 0 when not given.",
        "0.5 % vol",
        dimension=("volume_fraction", "mass_fraction"),
    )
    sound_speed: Given | None = asked(
        "Of the mixture, as measured, in place of the fraction, which is asked then.", "1466 m/s", dimension="speed"
    )
    sound_speed_uncertainty: Given | None = asked(
        "Standard uncertainty of the measured speed, which needs one.", "1 m/s", dimension="speed"
    )
    temperature: Given | None = asked("Temperature of the mixture.", "20 degC", dimension="temperature")
    pressure: Given | None = asked(
        "Of the mixture, absolute or gauge; 1 atm if not given.", "3 bar(g)", dimension="pressure"
    )
    salinity: Given | None = asked("Of the part that is sea water.", "35 g/kg", dimension="salinity")
    strength: Given | None = asked("Of the part that is a solution.", "20 % mass", dimension=STRENGTHS)
    solid_density: Given | None = asked(
        "Of a solid given by its own numbers, in place of dispersed.", "2600 kg/m3", dimension="density"
    )
    solid_density_uncertainty: Given | None = asked(
        "Standard uncertainty of solid_density; 0 when not given.", "50 kg/m3", dimension="density"
    )
    solid_compressibility: Given | None = asked(
        "Adiabatic; or both speeds of the solid.", "27 1/TPa", dimension="compressibility"
    )
    solid_compressibility_uncertainty: Given | None = asked(
        "Standard uncertainty of solid_compressibility; 0 when not given.", "3 1/TPa", dimension="compressibility"
    )
    solid_longitudinal_speed: Given | None = asked(
        "With solid_shear_speed, in place of solid_compressibility.", "5900 m/s", dimension="speed"
    )
    solid_longitudinal_speed_uncertainty: Given | None = asked(
        "Standard uncertainty of solid_longitudinal_speed; 0 when not given.", "50 m/s", dimension="speed"
    )
    solid_shear_speed: Given | None = asked(
        "With solid_longitudinal_speed, in place of solid_compressibility.", "3760 m/s", dimension="speed"
    )
    solid_shear_speed_uncertainty: Given | None = asked(
        "Standard uncertainty of solid_shear_speed; 0 when not given.", "50 m/s", dimension="speed"
    )
    particle_size: Given | None = asked(
        "Diameter of particles or drops; it narrows the uncertainty.", "5 um", dimension="length"
    )
    frequency: Given | None = asked(
        "Frequency of the sound; it narrows the uncertainty.", "1 MHz", dimension="frequency"
    )


@question
class SuspensionSpeedQuestion(SuspensionQuestion, AskedEstimates, AskedRelease):
    """The sound speed of an emulsion or a slurry, or the fraction that has a measured one."""
