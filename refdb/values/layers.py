"""Answering from an organisation's own values first, and saying what the release would have said.

What keeps house values is given to the database from outside (`HouseLayer`): answering from releases needs none of it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Protocol

from refdb.lookup.evaluate import PreparedRow
from refdb.lookup.state import State
from refdb.lookup.store import StoredRecord
from refdb.problems import AmbiguousName, Problem
from refdb.units import significant
from refdb.values.options import Options
from refdb.values.value import Answer, RowText, answer

if TYPE_CHECKING:
    from refdb.documents import DifferenceDocument, SourceReference, SubjectReference
    from refdb.values.documents import HouseTold, ReleaseSays, ValueDocument


LAYER: Final = "house"


@dataclass(frozen=True, slots=True)
class HouseRow:
    """A reviewed house value, in the shape in which a row of a release is evaluated.

    Attributes:
        record: the row; its id names the house value, its digest the version.
        told: what an answer says of it: version, who entered and reviewed it, evidence.
        source: what an answer cites: key, citation and locator.
    """

    record: StoredRecord
    told: HouseTold
    source: SourceReference


class HouseLayer(Protocol):
    """What gives house values to answer from."""

    def rows(self, subject: str, property_id: str) -> Sequence[HouseRow]:
        """The values in force for a property of a subject."""
        ...

    def properties(self, subject: str) -> Sequence[str]:
        """The properties of a subject for which values are in force."""
        ...

    def version_with(self, value: str, digest: str) -> tuple[HouseRow, HouseRow | None] | None:
        """The version of a value that has a digest, and the one in force now; None where no version has it."""
        ...


@dataclass(slots=True)
class LayeredAnswer(Answer):
    """An answer to a question about both layers.

    Attributes:
        house: of a house value, what is known of it; None where the release answers.
        release_says: beside a house value, the answer of the release, or why it has none.
        passed_over: beside an answer of the release, why house values that are in force did not answer.
    """

    house: HouseTold | None
    release_says: Answer | Problem | None
    passed_over: tuple[str, ...]

    @property
    def permalink(self) -> str:
        """A path that gives this version for as long as the house store exists; of a release's answer, its own."""
        if self.house is None:
            return self.released_link()
        return f"/v1/house/values/{self.house['id']}/versions/{self.house['version']}"

    def to(self, unit: str) -> LayeredAnswer:
        """The same answer in another unit."""
        other = Answer.to(self, unit)
        says = self.release_says.to(unit) if isinstance(self.release_says, Answer) else self.release_says
        return _layered(other, self.house, says, self.passed_over)

    def document(self) -> ValueDocument:
        """The answer as plain JSON values, with the layer that it comes from."""
        document = Answer.document(self)
        document["warnings"] = [*document["warnings"], *self.passed_over]
        if self.house is None:
            return document
        return {**document, "layer": LAYER, "house": self.house, "release_says": self._release_says()}

    def _release_says(self) -> ReleaseSays:
        says = self.release_says
        if not isinstance(says, Answer):
            return {"answer": None, "problem": says.document() if says is not None else None, "difference": None}
        if says.limits is not None:
            return {"answer": says.document(), "problem": None, "difference": None}
        gap = self.value.magnitude - says.value.unit.to(says.value.magnitude, self.value.unit)
        difference: DifferenceDocument = {"magnitude": significant(gap), "unit": self.value.unit.symbol}
        return {"answer": says.document(), "problem": None, "difference": difference}


def layered_answer(
    rows: Sequence[HouseRow],
    subject: SubjectReference,
    state: State,
    options: Options,
    release: str,
    released: Callable[[], Answer],
) -> LayeredAnswer:
    """The answer of the house value that holds at a state, else that of the release.

    Args:
        rows: the house values in force for the property and the condition.
        subject: what the question is about, as answers tell it.
        release: the label of the release that is asked beside.
        released: asks the release.

    Raises:
        AmbiguousName: two house values hold at the state.
        Problem: no house value holds there, and the release has no answer either.
    """
    says: Answer | Problem
    try:
        says = released()
    except Problem as problem:
        says = problem
    found: list[tuple[HouseRow, Answer]] = []
    passed_over: list[str] = []
    problem_of_house: Problem | None = None
    for row in rows:
        try:
            found.append((row, house_answer(row, subject, state, options, release)))
        except Problem as problem:
            problem_of_house = problem
            passed_over.append(f"a house value did not answer: {problem.detail}")
    if len(found) > 1:
        ids = [row.told["id"] for row, _ in found]
        raise AmbiguousName(
            f"layers: {len(ids)} house values hold at this state; withdraw all but one of {', '.join(ids)}.",
            parameter="layers",
            candidates=ids,
        )
    if found:
        row, given = found[0]
        return _layered(given, row.told, says, ())
    if isinstance(says, Problem):
        raise problem_of_house or says
    return _layered(says, None, None, tuple(passed_over))


def house_answer(row: HouseRow, subject: SubjectReference, state: State, options: Options, release: str) -> Answer:
    """The answer of one house value at a state.

    Raises:
        Problem: it does not hold there.
    """
    prepared = PreparedRow(row.record)
    evaluated = prepared.evaluate(state, needs_temperature=subject["kind"] == "liquid")
    text = RowText(prepared, subject, [row.source], release)
    return answer(text, evaluated, options.unit_for(prepared.property, prepared.unit))


def _layered(
    given: Answer, house: HouseTold | None, says: Answer | Problem | None, passed_over: tuple[str, ...]
) -> LayeredAnswer:
    return LayeredAnswer(given.text, given.value, given.standard_uncertainty, given.evaluated, house, says, passed_over)
