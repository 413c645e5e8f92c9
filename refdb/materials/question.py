"""What is asked about a material by what was measured on a piece of it."""

from __future__ import annotations

from refdb.questions import Question, asked, group, question
from refdb.questions.groups import AskedEstimates, AskedLimit, AskedRelease, AskedUnits
from refdb.units.sizes import Given


@group
class MaterialMeasured(Question):
    """What was measured on a piece: one of them at least."""

    longitudinal_speed: Given | None = asked(
        "Of longitudinal waves in the piece, as measured.", "5740 m/s", dimension="speed"
    )
    longitudinal_speed_uncertainty: Given | None = asked(
        "Of the longitudinal speed, a standard uncertainty; 0.5 % of it when not given.", "20 m/s", dimension="speed"
    )
    shear_speed: Given | None = asked("Of shear waves in the piece, as measured.", "3120 m/s", dimension="speed")
    shear_speed_uncertainty: Given | None = asked(
        "Of the shear speed, a standard uncertainty; 0.5 % of it when not given.", "15 m/s", dimension="speed"
    )
    density: Given | None = asked("Of the piece, weighed dry and in water.", "7980 kg/m3", dimension="density")
    density_uncertainty: Given | None = asked(
        "Of the density, a standard uncertainty; 0.5 % of it when not given.", "20 kg/m3", dimension="density"
    )
    temperature: Given | None = asked(
        "Of the piece while it was measured; 20 degC when not given.", "20 degC", dimension="temperature"
    )


@question
class MaterialQuestion(MaterialMeasured):
    """What was measured, as it was given: texts or quantities."""


@question
class MatchMaterialQuestion(MaterialMeasured, AskedLimit, AskedUnits, AskedEstimates, AskedRelease):
    """Which materials agree with what was measured on a piece."""


@group
class MaterialDescribed(MaterialMeasured):
    """What is known of a material that is in no list."""

    youngs_modulus: Given | None = asked(
        "Young's modulus found by sound or by resonance, not by a load.", "195 GPa", dimension="pressure"
    )
    youngs_modulus_uncertainty: Given | None = asked(
        "Of Young's modulus, a standard uncertainty; 1 % of it when not given.", "2 GPa", dimension="pressure"
    )
    poisson_ratio: Given | None = asked("Poisson's ratio found by sound.", "0.29 1", dimension="dimensionless")
    poisson_ratio_uncertainty: Given | None = asked(
        "Of Poisson's ratio, a standard uncertainty; 0.01 when not given.", "0.01 1", dimension="dimensionless"
    )
    like: str | None = asked("The listed material that it is nearest to.", "stainless-316", metavar="MATERIAL")
    family: str | None = asked("The family that it belongs to, where no listed material is near.", "nickel-alloy")
    composition: str | None = asked(
        "What it consists of, in mass percent: its family follows from that, and what its density may be.",
        "Fe 65 %, Cr 18 %, Ni 13 %, Mo 3 %",
    )


@question
class UnlistedMaterialQuestion(MaterialDescribed, AskedUnits, AskedRelease):
    """What follows for a material that is in no list."""


@question
class UnlistedQuestion(MaterialDescribed):
    """What is known of a material that is in no list, as it was given: texts or quantities."""
