"""What is asked about house values, and what is entered as one."""

from __future__ import annotations

from refdb.questions import asked, group, question
from refdb.questions.groups import STATUSES, Page


@question
class HouseValuesQuestion(Page):
    """House values, the newest version of each."""

    subject: str | None = asked("Only house values of this subject, by any exact name.", "water", positional=True)
    property: str | None = asked("Only house values of this property.", "sound_speed", positional=True)
    status: str | None = asked("Only house values whose newest version has this status.", "reviewed", choices=STATUSES)


@group
class HouseValue:
    """A house value."""

    __slots__ = ()

    value_id: str = asked(
        "The id of a house value.",
        "8cf41116-4e71-4d25-8d5a-6848b2e23952",
        required=True,
        positional=True,
        metavar="ID",
    )


@question
class HouseValueQuestion(HouseValue):
    """One house value."""


@question
class HouseVersionQuestion(HouseValue):
    """One version of a house value."""

    version: str = asked("The number of a version of a house value.", "1", required=True)
