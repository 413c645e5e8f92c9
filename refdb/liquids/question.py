"""What is asked about liquids by what was measured, and about the strength of solutions."""

from __future__ import annotations

from refdb.questions import Question, asked, question
from refdb.questions.groups import AskedEstimates, AskedLimit, AskedRelease, AskedSubject, AskedUnits
from refdb.units.sizes import Given
from refdb.vocabulary import STRENGTHS


@question
class LiquidQuestion(Question):
    """What was measured and told of a liquid, as it was given: texts or quantities."""

    sound_speed: Given | None = asked(
        "Of the liquid in the pipe, as measured.", "1482 m/s", dimension="speed", required=True, checked=True
    )
    temperature: Given | None = asked(
        "Temperature of the liquid; left out where liquid asks for it.", "20 degC", dimension="temperature"
    )
    pressure: Given | None = asked(
        "Of the liquid, absolute or gauge; 1 atm when not given, or saturation where the liquid needs it.",
        "3 bar(g)",
        dimension="pressure",
    )
    salinity: Given | None = asked(
        "Of salty liquids; the one that fits best when not given.", "35 g/kg", dimension="salinity"
    )
    strength: Given | None = asked(
        "Of solutions, as a mass fraction; the one that fits best when not given.",
        "30 % mass",
        dimension="mass_fraction",
    )
    sound_speed_uncertainty: Given | None = asked(
        "Standard uncertainty of the sound speed; 0.5 % of it when not given.", "3 m/s", dimension="speed"
    )
    temperature_uncertainty: Given | None = asked(
        "Standard uncertainty of the temperature; 0.5 K when not given.",
        "0.5 K",
        dimension="temperature_difference",
    )
    liquid: str | None = asked("Ask at which temperature this liquid has the sound speed.", "water")
    solution: str | None = asked(
        "Ask at which strength or salinity this liquid has the sound speed.", "seawater", metavar="LIQUID"
    )


@question
class MatchLiquidQuestion(LiquidQuestion, AskedLimit, AskedUnits, AskedEstimates, AskedRelease):
    """Which liquids agree with what was measured, or at which temperature or strength one does."""


@question
class StrengthQuestion(AskedSubject, AskedRelease):
    """The strength of a solution on other bases."""

    strength: Given = asked(
        "The strength to tell on other bases: % mass, % vol, mol/kg and others, or the density measured at the "
        "temperature.",
        "40 % ABV",
        dimension=STRENGTHS,
        required=True,
        positional=True,
    )
    temperature: Given | None = asked(
        "Temperature of the solution, needed for volumes of solution and for densities.",
        "20 degC",
        dimension="temperature",
    )
    to: str | None = asked(
        "The unit to tell the strength in; every basis that can be told when not given.", "% vol", metavar="UNIT"
    )
