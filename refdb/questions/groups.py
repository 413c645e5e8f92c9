"""Fields that questions of several rooms share, each declared here once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from refdb.questions.declare import Question, asked, group
from refdb.units.sizes import Given
from refdb.vocabulary import STRENGTHS

MOST_ITEMS = 500
SHORT_LIST = 20
"""Items of a list that is sorted, the best first."""
PAGE = 100
"""Items of a page."""

SYSTEMS = ("si", "us")
ACCEPTED = ("estimates",)
LAYERS = ("release", "house,release")
STATUSES = ("draft", "reviewed", "withdrawn")


def at_most(usual: int, *, paging: bool = False) -> Any:
    """How many items are wanted of a list."""
    return asked("At most this many items.", str(usual), between=(1, MOST_ITEMS), default=usual, paging=paging)


@group
class AskedSubject(Question):
    """A subject by its name."""

    subject: str = asked(
        "A material or liquid by any exact name or designation.",
        "water",
        required=True,
        positional=True,
        part="name",
        must_be="a text, the exact name of a subject",
    )


@group
class AskedProperties(Question):
    """Some properties of it."""

    property: Sequence[str] = asked(
        "A property of the subject; every one that is known when none is named.",
        "sound_speed",
        repeatable=True,
        positional=True,
    )


@group
class AskedState(Question):
    """The state it is in."""

    temperature: Given | None = asked(
        "Temperature of the subject; a liquid needs one.", "20 degC", dimension="temperature"
    )
    pressure: Given | None = asked(
        "Absolute or gauge pressure; 1 atm when not given.", "3 bar(g)", dimension="pressure"
    )
    salinity: Given | None = asked(
        "Of sea water: absolute salinity in g/kg, or practical salinity in psu.", "35 psu", dimension="salinity"
    )
    strength: Given | None = asked(
        "Of a solution: its strength on any basis (% mass, % vol, mol/kg and others), or its measured density.",
        "30 % mass",
        dimension=STRENGTHS,
    )


@group
class AskedCondition(Question):
    """The condition of a material."""

    condition: str | None = asked("A condition of the material, where readings tell conditions apart.", "annealed")


@group
class AskedUnit(Question):
    """Units of single properties."""

    unit: Sequence[str] = asked(
        "The unit to answer a property in.", "density:lb/ft3", repeatable=True, pairs=True, metavar="PROPERTY:UNIT"
    )


@group
class AskedUnits(Question):
    """The system of units."""

    units: str | None = asked("The system of units to answer in; SI when not given.", "us", choices=SYSTEMS)


@group
class AskedEstimates(Question):
    """Whether estimates will do."""

    accept: str | None = asked(
        "Also answer with what nobody published, such as estimates and pipes that are only recalled; each is marked.",
        "estimates",
        choices=ACCEPTED,
    )


@group
class AskedLayers(Question):
    """Whether house values will do."""

    layers: str | None = asked(
        "Where values may come from: with house,release the reviewed values of your organisation come first, and over "
        "HTTP a key is needed; from the release alone when not given.",
        "house,release",
        choices=LAYERS,
    )


@group
class AskedChoices(AskedUnit, AskedUnits, AskedEstimates, AskedLayers):
    """How an answer is wanted."""


@group
class AskedRelease(Question):
    """Which release answers."""

    release: str | None = asked("Answer from this release; the newest when not given.", "2026r1", metavar="LABEL")
    as_of: str | None = asked(
        "Answer from the newest release cut on or before this UTC date.", "2026-12-31", metavar="DATE"
    )


@group
class AskedLimit(Question):
    """How much of a list that is sorted, the best first."""

    limit: int = at_most(SHORT_LIST)


@group
class AskedPage(Question):
    """Which part of a long list."""

    limit: int = at_most(PAGE, paging=True)
    next: str | None = asked("The opaque mark that the page before gave as its next.", "MjAyNnIxOjEwMA", paging=True)
