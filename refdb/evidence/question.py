"""What is asked about the evidence: rows, their sources and histories, releases, and what is suspicious in them."""

from __future__ import annotations

from collections.abc import Sequence

from refdb.questions import Question, asked, group, question
from refdb.questions.groups import AskedPage, AskedRelease, AskedSubject


@group
class AskedRow(Question):
    """A row."""

    row: str = asked("The id of a row.", "water.sound_speed", required=True, positional=True, part="row_id")


@question
class RowQuestion(AskedRow, AskedRelease):
    """A row as it stands in a release, and what it rests on."""


@question
class HistoryQuestion(AskedRow):
    """Every version of a row."""


@question
class CitationsQuestion(AskedRelease):
    """The documents behind rows."""

    rows: Sequence[str] = asked(
        "The ids of rows.", "water.sound_speed", repeatable=True, required=True, positional=True, metavar="ROW..."
    )


@question
class ReadingsQuestion(AskedSubject, AskedRelease, AskedPage):
    """What each source says about a subject."""

    property: str | None = asked(
        "Only readings of this property.", "sound_speed", positional=True, parameter="property_id"
    )
    source: str | None = asked("Only what this source says, by its key.", "astm-e494", metavar="KEY")


@question
class SourceQuestion(AskedRelease):
    """One published document; on the command line, without its key, all of them."""

    key: str = asked("The key of a source.", "astm-e494", required=True, checked=True, positional=True)


@question
class OneReleaseQuestion(Question):
    """One release."""

    label: str = asked("The label of the release that is asked for.", "2026r1", required=True)


@group
class AskedWithout(Question):
    """Classes of rights to do without."""

    without: Sequence[str] = asked(
        "Leave out what was seen only in copies of this class of rights, and all that rests on it.",
        "copyleft",
        repeatable=True,
        metavar="CLASS",
    )


@question
class ReleaseExportQuestion(AskedWithout):
    """Every record of a release."""

    label: str = asked("The label of the release that is exported.", "2026r1", required=True)


@question
class ExportQuestion(AskedWithout, AskedRelease):
    """Every record of a release, as a file."""


@question
class RightsQuestion(AskedRelease):
    """The documents of a release by what the copies allow in which they were seen."""


@question
class ChangesQuestion(Question):
    """What a release changed since an older one."""

    since: str | None = asked(
        "The older release; the one before when not given.", "2026r1", positional=True, metavar="FROM"
    )
    label: str = asked("The release whose changes are told.", "2026r2", required=True, positional=True, metavar="TO")


@question
class AuditQuestion(AskedRelease):
    """What is suspicious in the evidence of a release."""

    scope: str = asked("What is audited: liquids, solids or pipes.", "liquids", required=True, positional=True)
