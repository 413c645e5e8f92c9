"""What is asked about a job beside its document."""

from __future__ import annotations

from refdb.questions import question
from refdb.questions.groups import AskedUnits
from refdb.values.question import ReleaseQuestion


@question
class JobQuestion(AskedUnits, ReleaseQuestion):
    """A job worked: on which release, told in which units."""
