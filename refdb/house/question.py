"""What is asked about house values, and what is entered as one."""

from __future__ import annotations

from refdb.questions import Question, asked, group, question
from refdb.questions.groups import STATUSES, AskedPage


@question
class HouseValuesQuestion(AskedPage):
    """House values, the newest version of each."""

    subject: str | None = asked("Only house values of this subject, by any exact name.", "water", positional=True)
    property: str | None = asked("Only house values of this property.", "sound_speed", positional=True)
    status: str | None = asked("Only house values whose newest version has this status.", "reviewed", choices=STATUSES)


@group
class AskedHouseValue(Question):
    """A house value."""

    value_id: str = asked(
        "The id of a house value.",
        "8cf41116-4e71-4d25-8d5a-6848b2e23952",
        required=True,
        positional=True,
        metavar="ID",
    )


@question
class HouseValueQuestion(AskedHouseValue):
    """One house value."""


@question
class HouseVersionQuestion(AskedHouseValue):
    """One version of a house value."""

    version: str = asked("The number of a version of a house value.", "1", required=True)


@question
class EntryQuestion(Question):
    """A house value as it is entered: texts, numbers as printed; value or points, and a standard uncertainty."""

    subject: str | None = asked(
        "The material or liquid that the value is of, by any exact name.",
        "carbon-steel",
        required=True,
        checked=True,
        positional=True,
    )
    property: str | None = asked(
        "The property that the value is of.", "longitudinal_speed", required=True, checked=True, positional=True
    )
    condition: str | None = asked("The condition of the material that it holds for.", "annealed")
    value: str | None = asked("The number as printed.", "5920", metavar="NUMBER")
    points: str | None = asked("Instead of a value, several temperatures.", "20 degC: 5920; 60 degC: 5890")
    unit: str | None = asked("The unit of the value.", "m/s", required=True, checked=True)
    uncertainty: str | None = asked(
        "Its uncertainty as a number; in the unit of the value, unless uncertainty_unit says otherwise.",
        "30",
        required=True,
        checked=True,
        metavar="NUMBER",
    )
    uncertainty_unit: str | None = asked(
        "The unit of its uncertainty; that of the value when not given.", "%", metavar="UNIT"
    )
    uncertainty_kind: str | None = asked(
        "Whether the uncertainty is a standard one, or expanded by a coverage factor of 2.",
        "standard",
        choices=("standard", "expanded"),
        required=True,
        checked=True,
    )
    temperature: str | None = asked("The temperature it was found at, or from where to where.", "15 to 25 degC")
    pressure: str | None = asked("The pressure it was found at.", "1 atm")
    strength: str | None = asked("The strength of the solution it was found in.", "30 % mass")
    salinity: str | None = asked("The salinity of the sea water it was found in.", "35 g/kg")
    temperature_scale: str | None = asked("The scale that the temperature was printed on.", "IPTS-68")
    valid_temperature: str | None = asked(
        "The temperatures at which it may be answered; only those it was found at when not given.", "0 to 40 degC"
    )
    valid_pressure: str | None = asked(
        "The pressures at which it may be answered; only those it was found at when not given.", "1 to 10 bar"
    )
    valid_strength: str | None = asked(
        "The strengths at which it may be answered; only those it was found at when not given.", "20 to 40 % mass"
    )
    valid_salinity: str | None = asked(
        "The salinities at which it may be answered; only those it was found at when not given.", "30 to 40 g/kg"
    )
    basis: str | None = asked(
        "What it rests on; measured when not given.",
        "measured",
        choices=("measured", "standard", "evaluated", "computed", "derived", "estimated"),
    )
    locator: str | None = asked(
        "Where the record of it is kept.", "report 12, page 3", required=True, checked=True, metavar="TEXT"
    )
    name_printed: str | None = asked("What the record calls the material or liquid.", "St 37", metavar="TEXT")
    evidence: str | None = asked(
        "How it was found: method, instrument, specimen.",
        "pulse and echo on a block of 25 mm",
        required=True,
        checked=True,
        metavar="TEXT",
    )
    note: str | None = asked("Anything else to be known of the value.", "after welding", metavar="TEXT")
