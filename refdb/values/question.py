"""What is asked about the values of a subject: at one state, at many, as a table; and lists of what there is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from refdb.questions import Question, asked, group, question
from refdb.questions.groups import (
    AskedChoices,
    AskedCondition,
    AskedEstimates,
    AskedLayers,
    AskedLimit,
    AskedPage,
    AskedProperties,
    AskedRelease,
    AskedState,
    AskedSubject,
)
from refdb.vocabulary import STRENGTHS


@question
class ValueQuestion(AskedSubject, AskedState, AskedCondition, AskedEstimates, AskedLayers, AskedRelease):
    """One property of a subject at a state."""

    property: str = asked(
        "The property that is asked for.", "sound_speed", required=True, positional=True, parameter="property_id"
    )
    unit: str | None = asked("The unit to answer this property in; its row's own when not given.", "m/s")


@question
class ValuesQuestion(AskedSubject, AskedProperties, AskedState, AskedCondition, AskedChoices, AskedRelease):
    """Properties of a subject at a state."""


@question
class BatchQuestion(AskedSubject, AskedState, AskedCondition, AskedChoices, AskedRelease):
    """Properties of a subject at many states; lists of the state are of one length."""

    properties: Sequence[str] = asked(
        "The properties of all states; every one that is advised when none is named.", "sound_speed", repeatable=True
    )

    def state(self) -> Mapping[str, Any]:
        """The parts of the state that are given."""
        parts = {"temperature": self.temperature, "pressure": self.pressure}
        parts |= {"salinity": self.salinity, "strength": self.strength}
        return {name: part for name, part in parts.items() if part is not None}


@group
class Ranges(Question):
    """The states that a table spans."""

    temperature: str | None = asked(
        "A range of temperatures, or a single one.", "0..100 step 5 degC", dimension="temperature", metavar="RANGE"
    )
    pressure: str | None = asked(
        "A range of pressures, or a single one; 1 atm when not given.",
        "1..10 step 1 bar",
        dimension="pressure",
        metavar="RANGE",
    )
    salinity: str | None = asked(
        "A range of salinities of sea water, or a single one.",
        "0..40 step 5 g/kg",
        dimension="salinity",
        metavar="RANGE",
    )
    strength: str | None = asked(
        "A range of strengths of a solution, or a single one.",
        "0..50 step 10 % mass",
        dimension=STRENGTHS,
        metavar="RANGE",
    )


@question
class TableQuestion(AskedSubject, AskedProperties, Ranges, AskedCondition, AskedChoices, AskedRelease):
    """A table over one or two ranges of the state."""

    def ranges(self) -> Mapping[str, str | None]:
        """The parts of the state by name, given or not."""
        parts = {"temperature": self.temperature, "pressure": self.pressure}
        return parts | {"salinity": self.salinity, "strength": self.strength}


@question
class MaterialsQuestion(AskedChoices, AskedRelease, AskedPage):
    """The list of all materials with their speeds and densities."""


@question
class ListQuestion(AskedRelease, AskedPage):
    """A list of a release: its subjects, its sources."""


@question
class ReleaseQuestion(AskedRelease):
    """Which release answers, of what is told elsewhere."""


@question
class SubjectQuestion(AskedSubject, AskedRelease):
    """One subject."""


@question
class FindQuestion(AskedLimit, AskedRelease):
    """What fits a search text."""

    q: str = asked(
        "What to look for: a name, a designation, a pipe, a source.",
        "1.4404",
        required=True,
        positional=True,
        several_words=True,
        metavar="TEXT...",
        parameter="text",
    )


@question
class UnitsQuestion(Question):
    """The units, and the spellings that are refused."""

    dimension: str | None = asked("Only units of this dimension.", "pressure", positional=True)


@question
class NoQuestion(Question):
    """What takes no parameter."""
