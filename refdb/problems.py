"""Typed exceptions for everything that can be wrong with a question, all with one shape.

Every problem is one plain sentence that names the field, what is wrong and the way out. The command line prints the
sentence and exits with code 2; the service sends it as an RFC 9457 problem document; Python raises it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, ClassVar, Literal, cast

if TYPE_CHECKING:
    from refdb.documents import ProblemDocument


PROBLEM_URI = "urn:refdb:problem:"


class Problem(Exception):  # noqa: N818 - the word of RFC 9457
    """A question that cannot be answered as asked.

    Attributes:
        detail: one plain sentence for people.
        extensions: machine-readable companions of the sentence (`parameter`, `given`, `accepted`, `valid_range`,
            `nearest`, `candidates`, `estimate_available`); absent ones are left out.
    """

    slug: ClassVar[str] = "problem"
    title: ClassVar[str] = "The question cannot be answered"
    status: ClassVar[int] = 422

    def __init__(self, detail: str, **extensions: Any) -> None:
        super().__init__(detail)
        self.detail = detail
        self.extensions = {key: value for key, value in extensions.items() if value is not None}

    def document(self) -> ProblemDocument:
        """The RFC 9457 members of this problem, with its extensions."""
        told: ProblemDocument = {
            "type": PROBLEM_URI + self.slug,
            "title": self.title,
            "status": self.status,
            "detail": self.detail,
        }
        # A problem may have extensions of its own, which no type names.
        return cast("ProblemDocument", {**told, **self.extensions})


class UnknownName(Problem):
    """No subject, property, pipe, source, row or release has this name."""

    slug, title, status = "unknown-name", "Nothing has this name", 404


class AmbiguousName(Problem):
    """Several things have this name; the candidates are listed."""

    slug, title, status = "ambiguous-name", "Several things have this name", 409


class NotAvailable(Problem):
    """The subject is known, but the release advises no value of this property for it."""

    slug, title, status = "not-available", "No value is published for this", 404


class OutsideRange(Problem):
    """The state lies outside the range in which the row is valid."""

    slug, title, status = "outside-range", "The state is outside the valid range", 422


class MissingState(Problem):
    """The question lacks a part of the state that the answer depends on."""

    slug, title, status = "missing-state", "A part of the state is missing", 422


class BadQuantity(Problem):
    """The text is not a finite number followed by a unit of the unit table."""

    slug, title, status = "bad-quantity", "Not a quantity", 422


class NotFinite(Problem):
    """A number of the answer cannot be calculated, or becomes larger than any, with the quantities that were given."""

    slug, title, status = "not-finite", "The numbers given leave no finite answer", 422


class UnknownUnit(Problem):
    """The unit is not in the unit table."""

    slug, title, status = "unknown-unit", "The unit is not known", 422


class WrongDimension(Problem):
    """The unit is known but measures something else."""

    slug, title, status = "wrong-dimension", "The unit measures something else", 422


class BadParameter(Problem):
    """A parameter is unknown, repeated, contradictory or not one of its choices."""

    slug, title, status = "bad-parameter", "A parameter is wrong", 422


class IntegrityError(Problem):
    """A stored record or file does not fit its digest."""

    slug, title, status = "integrity", "Stored data do not fit their digest", 500


class LedgerError(Problem):
    """The text of `sources/` or `shared/` breaks the record format; every finding names file, line and field."""

    slug, title, status = "ledger", "The text does not fit the record format", 422

    def __init__(self, findings: list[str]) -> None:
        super().__init__("\n".join(findings), findings=findings)
        self.findings = findings


class LibraryNeeded(Problem):
    """A value can be read or computed again only with a library, of one version, that is not installed."""

    slug, title, status = "library-needed", "A library of one version is needed", 422


class KeyNeeded(Problem):
    """House values are read and written with a key, and none that stands was given."""

    slug, title, status = "key-needed", "A key is needed", 401


class NotAllowed(Problem):
    """The key's role is too small for this, or the person may not do it with this value."""

    slug, title, status = "not-allowed", "The key does not allow this", 403


class Conflict(Problem):
    """What stands already does not allow this."""

    slug, title, status = "conflict", "What stands already does not allow this", 409


class Changed(Problem):
    """Somebody changed it after the version that If-Match names."""

    slug, title, status = "changed", "It was changed meanwhile", 412


class VersionNeeded(Problem):
    """A change must say in If-Match which version it changes."""

    slug, title, status = "version-needed", "The version to change is not named", 428


Outcome = Literal["nothing written", "written", "not known"]
"""What is known about a write whose store failed; the first two are certain."""


class HouseUnavailable(Problem):
    """The house store cannot be used: it is not made, not upgraded, or its database does not answer."""

    slug, title, status = "house-unavailable", "The house store cannot be used", 503

    def __init__(
        self, detail: str, inside: str, outcome: Outcome | None = None, writes: Sequence[dict[str, Any]] = ()
    ) -> None:
        """Make the problem with details that only the keeper of the store is shown.

        Args:
            detail: the sentence, which anybody may read.
            inside: the address of the store and the message of its database, for the command line and the service's
                log; not part of the document.
            outcome: for a write, what is known about it; None if nothing was to be written.
            writes: what was being written, each with its `id` and, for a value, its `version`.
        """
        super().__init__(detail, outcome=outcome, writes=list(writes) or None)
        self.inside = inside
        self.outcome = outcome


ALL_PROBLEMS: tuple[type[Problem], ...] = (
    UnknownName,
    AmbiguousName,
    NotAvailable,
    OutsideRange,
    MissingState,
    BadQuantity,
    NotFinite,
    UnknownUnit,
    WrongDimension,
    BadParameter,
    IntegrityError,
    LedgerError,
    LibraryNeeded,
    KeyNeeded,
    NotAllowed,
    Conflict,
    Changed,
    VersionNeeded,
    HouseUnavailable,
)
