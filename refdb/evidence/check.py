"""Saved answers, such as those of last year's job sheets: still the advice, superseded, or none of ours.

An answer names its release, its row and the digest of the row's version. It is ours if that release holds that
version and gives these numbers for it at the saved state; it is the current advice if the newest release holds the
same version.

Two labels were used more than once. Of the cuts that bear them no more ids and digests alone are kept: their answers
are recognised, but where no release holds the version their numbers are not proved, and the reason says so.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from refdb.evidence.changes import why_changed
from refdb.lookup import EarlierCutInfo, ReleaseInfo, StoredRecord
from refdb.lookup.state import State, read_state
from refdb.pipes.lining import linings_of
from refdb.pipes.pipe import pipe_with_id
from refdb.pipes.roughness import roughness_of
from refdb.problems import BadParameter, Problem
from refdb.units import Quantity, significant, units
from refdb.values.ask import values_at
from refdb.values.layers import LAYER, HouseRow, house_answer
from refdb.values.options import Options
from refdb.values.reader import Reader
from refdb.values.subjects import subject_reference
from refdb.vocabulary import STATE, properties

if TYPE_CHECKING:
    from refdb.documents import DifferenceDocument
    from refdb.evidence.documents import AnswerEffect, CheckedAnswer, Verdict
    from refdb.lookup.documents import ReleaseCorrectionDocument


CURRENT: Final = "current"
SUPERSEDED: Final = "superseded"
NOT_OURS: Final = "not ours"
MOST_ANSWERS = 10_000
DEEPEST = 60

# A saved state and a saved value are rounded to twelve digits; asked again, the last of them may differ.
SAME = 1e-10

QUANTITIES = ("value", "standard_uncertainty", "outside_diameter", "wall", "bore", "thickness", "minimum")
"""Members of answers that hold a quantity, and are compared."""

IDENTITIES = ("subject", "property", "id", "system", "size", "designations", "standard", "material", "side", "surface")
"""Members that say what an answer is about."""


def check_answers(reader: Reader, saved: Any) -> list[CheckedAnswer]:
    """What is to be said of every answer in a saved document, wherever in it they stand.

    Args:
        saved: plain JSON values: one answer, a list of them, a job sheet, or anything that holds answers.

    Returns:
        For each answer: `place` in the document, `row`, `release`, `verdict` (`current`, `superseded` or `not ours`),
        `reason`, `corrections` (what later releases say was wrong with this one), `now` (what the newest release
        answers, or null) and `effect` (what that changes, or null).

    Raises:
        BadParameter: no answer is in the document, or more than we look at.
    """
    found = list(_answers(saved, "$", None, 0))
    if not found:
        raise BadParameter(
            "answers: none is in there; an answer has a row with id and digest, and a release, as refdb prints them "
            "with --json.",
            parameter="answers",
        )
    if len(found) > MOST_ANSWERS:
        raise BadParameter(
            f"answers: there are {len(found)}; ask about at most {MOST_ANSWERS} at once.", parameter="answers"
        )
    return [_Check(reader, one).document() for one in found]


@dataclass(frozen=True, slots=True)
class _Saved:
    """One answer, where it stands, and the release that it or the document around it names."""

    place: str
    answer: Mapping[str, Any]
    release: str | None


def _answers(part: Any, place: str, release: str | None, depth: int) -> Iterator[_Saved]:
    if depth > DEEPEST:
        raise BadParameter("answers: the document is nested too deeply to be one of ours.", parameter="answers")
    if isinstance(part, list):
        for number, item in enumerate(part):
            yield from _answers(item, f"{place}[{number}]", release, depth + 1)
    elif isinstance(part, dict):
        named = part.get("release")
        release = named if isinstance(named, str) else release
        if _is_answer(part):
            yield _Saved(place, part, release)
        for name, item in part.items():
            yield from _answers(item, f"{place}.{name}", release, depth + 1)


def _is_answer(part: Mapping[str, Any]) -> bool:
    row = part.get("row")
    named = isinstance(row, dict) and isinstance(row.get("id"), str) and isinstance(row.get("digest"), str)
    return named and any(isinstance(part.get(name), dict) for name in QUANTITIES)


Judged = tuple["Verdict", str, dict[str, Any] | None, "AnswerEffect | None"]
"""The verdict and its reason; what is advised now, and the effect of that."""


class _Refuted(Exception):  # noqa: N818 - a verdict, not a fault
    """The answer is not ours, and why."""


class _Check:
    def __init__(self, reader: Reader, saved: _Saved) -> None:
        self.reader = reader
        self.saved = saved
        self.row: str = saved.answer["row"]["id"]
        self.digest: str = saved.answer["row"]["digest"]
        self.corrections: list[ReleaseCorrectionDocument] = []

    def document(self) -> CheckedAnswer:
        """The verdict as plain JSON values."""
        now = effect = None
        try:
            if self.saved.answer.get("layer") == LAYER:
                verdict, reason, now, effect = self._of_house()
            else:
                verdict, reason, now, effect = self._of_release()
        except _Refuted as why:
            verdict, reason = NOT_OURS, str(why)
        return {
            "place": self.saved.place,
            "row": {"id": self.row, "digest": self.digest},
            "release": self.saved.release,
            "verdict": verdict,
            "reason": reason,
            "corrections": self.corrections,
            "now": now,
            "effect": effect,
        }

    def _of_release(self) -> Judged:
        """The verdict on an answer from a release, or from an earlier cut under a release's label."""
        self._require_numbers()
        release = self._release()
        cuts = self.reader.store.earlier_cuts(self.row, self.digest, release)
        if cuts:
            return self._of_earlier_cut(release, cuts)
        verdict = self._against_newest(self._proved(release))
        self.corrections = [one.document() for one in release.corrected_by]
        return verdict

    def _of_earlier_cut(self, release: ReleaseInfo, cuts: list[EarlierCutInfo]) -> Judged:
        """The verdict on an answer from a cut that bears its label no more; only a version that is held is proved."""
        which = " or ".join(cut.digest for cut in cuts)
        told = (
            f"from an earlier cut of {release.label} (digest {which}) that was cut again under the same label: "
            f"{cuts[-1].why}"
        )
        for other in self.reader.store.releases:
            record = self.reader.store.record(self.row, other)
            if record is not None and record.digest == self.digest:
                verdict, reason, now, effect = self._against_newest(self._proved(other))
                return verdict, f"{told}; {reason}", now, effect
        self._require_subject()
        _, reason, now, effect = self._against_newest(None)
        return SUPERSEDED, f"{told}; its record is not kept and its numbers are not proved; {reason}", now, effect

    def _require_subject(self) -> None:
        """Refute an answer without a record of its own where it is about something else than its row."""
        record = self.reader.store.record(self.row, self.reader.store.releases[-1])
        for name in ("subject", "property"):
            held = record.body.get(name) if record is not None else None
            if held is not None and name in self.saved.answer and _identity(self.saved.answer[name]) != held:
                raise _Refuted(f"the {name} does not fit the row: it is {held}")

    def _proved(self, release: ReleaseInfo) -> StoredRecord:
        """The version that a release gives the answer from, once it has given the same numbers again."""
        record = self.reader.store.record(self.row, release)
        if record is None:
            raise _Refuted(f"release {release.label} has no row {self.row}")
        if record.digest != self.digest:
            raise _Refuted(f"the digest does not fit: in release {release.label} the row has {record.digest}")
        try:
            again = self._asked(release)
        except Problem as problem:
            raise _Refuted(f"release {release.label} does not answer so: {problem.detail}") from None
        self._require_same(again)
        return record

    def _require_numbers(self) -> None:
        if not any(_quantities(self.saved.answer)):
            raise _Refuted("it holds no number that could be held against the row")

    def _require_same(self, again: Mapping[str, Any]) -> None:
        """Refute the answer where it says anything else than the same question gives again."""
        for name in IDENTITIES:
            if name in self.saved.answer and _identity(self.saved.answer[name]) != _identity(again.get(name)):
                raise _Refuted(f"the {name} does not fit the row: it is {_identity(again.get(name))}")
        for name, given in _quantities(self.saved.answer):
            if not _same(given, again.get(name)):
                raise _Refuted(
                    f"the numbers do not fit the row: {name} is {_words(again.get(name))}, not {_words(given)}"
                )

    def _of_house(self) -> Judged:
        """The verdict on a house value, by the store that keeps its versions."""
        self._require_numbers()
        if self.reader.house is None:
            raise _Refuted("a house value, which no release holds; it can be looked up with its house store alone")
        found = self.reader.house.version_with(self.row.removeprefix(f"{LAYER}."), self.digest)
        if found is None:
            raise _Refuted("the digest does not fit: no reviewed version of a house value has it")
        then, now = found
        try:
            self._require_same(self._house_answer(then))
        except Problem as problem:
            raise _Refuted(f"the house value does not answer so: {problem.detail}") from None
        if now is None:
            return SUPERSEDED, "withdrawn: no version of this house value is in force", None, None
        if now.record.digest == self.digest:
            return CURRENT, "this version of the house value is in force", None, None
        told = {"release": None, "row": {"id": now.record.id, "digest": now.record.digest}}
        why = f"version {now.told['version']} is in force, reviewed by {now.told['reviewed_by']}"
        try:
            again = self._house_answer(now)
        except Problem as problem:
            return SUPERSEDED, f"{why}; it does not answer at this state: {problem.detail}", told, None
        told |= {name: again[name] for name, _ in _quantities(self.saved.answer) if again.get(name) is not None}
        return SUPERSEDED, why, told, self._effect(again)

    def _house_answer(self, row: HouseRow) -> Mapping[str, Any]:
        body = row.record.body
        record = self.reader.subject(body["subject"])
        subject = subject_reference(record.body)
        state = self.reader.with_mass_fraction(record, self._state(), self.reader.release())
        options = Options(units={body["property"]: _unit(self.saved.answer.get("value"))})
        return house_answer(row, subject, state, options, "").document()

    def _release(self) -> ReleaseInfo:
        if self.saved.release is None:
            raise _Refuted("it names no release")
        try:
            return self.reader.release(self.saved.release)
        except Problem as problem:
            raise _Refuted(problem.detail) from None

    def _against_newest(self, old: StoredRecord | None) -> Judged:
        """The verdict on a version of the row; None where its record is not kept."""
        newest = self.reader.store.releases[-1]
        record = self.reader.store.record(self.row, newest)
        if record is None:
            return SUPERSEDED, f"withdrawn: release {newest.label} advises nothing under this row", None, None
        if record.digest == self.digest:
            return CURRENT, f"release {newest.label} advises the same", None, None
        changed = why_changed(old.body, record.body) if old is not None else []
        why = f"by release {newest.label}: {'; '.join(changed) or 'its record changed'}"
        now: dict[str, Any] = {"release": newest.label, "row": {"id": record.id, "digest": record.digest}}
        try:
            again = self._asked(newest)
        except Problem as problem:
            return SUPERSEDED, f"{why}; it does not answer at this state: {problem.detail}", now, None
        now |= {name: again[name] for name, _ in _quantities(self.saved.answer) if again.get(name) is not None}
        return SUPERSEDED, why, now, self._effect(again)

    def _effect(self, again: Mapping[str, Any]) -> AnswerEffect:
        """The moves, in the units of the saved answer, and that of a value in its standard uncertainties."""
        moves: dict[str, DifferenceDocument] = {}
        for name, given in _quantities(self.saved.answer):
            new = again.get(name)
            if isinstance(new, dict) and new.get("unit") == given["unit"]:
                move = significant(new["magnitude"] - given["magnitude"], 6)
                moves[name] = {"magnitude": move, "unit": given["unit"]}
        uncertainty = dict(_quantities(self.saved.answer)).get("standard_uncertainty", {}).get("magnitude")
        in_uncertainties = (
            significant(moves["value"]["magnitude"] / uncertainty, 4) if "value" in moves and uncertainty else None
        )
        return {"moves": moves, "in_uncertainties": in_uncertainties}

    def _asked(self, release: ReleaseInfo) -> Mapping[str, Any]:
        """The same question, put to a release again."""
        record = self.reader.store.record(self.row, release)
        kind = record.body["kind"] if record is not None else ""
        ask = {
            "recommended": self._value,
            "recommended-pipe": self._pipe,
            "recommended-roughness": self._roughness,
            "recommended-lining": self._lining,
        }.get(kind)
        if ask is None:
            raise BadParameter(f"row: {self.row} is no row that is answered.")
        return ask(release)

    def _value(self, release: ReleaseInfo) -> Mapping[str, Any]:
        record = self.reader.store.record(self.row, release)
        body = record.body if record is not None else {}
        unit = _unit(self.saved.answer.get("value"))
        units().find(unit, properties()[body["property"]]["dimension"])
        found = values_at(
            self.reader,
            body["subject"],
            [body["property"]],
            state=self._state(),
            condition=body.get("condition"),
            options=Options(units={body["property"]: unit}, estimates=True),
            release=release,
        )
        return found.values[0].document()

    def _state(self) -> State:
        return read_state(*(self._part(name) for name in ("temperature", "pressure", "salinity", "strength")))

    def _part(self, name: str) -> Quantity | None:
        state = self.saved.answer.get("state")
        held = state.get(name) if isinstance(state, dict) else None
        if held is None:
            return None
        return Quantity(_magnitude(held), units().find(_unit(held), STATE[name].dimension, name))

    def _pipe(self, release: ReleaseInfo) -> Mapping[str, Any]:
        return pipe_with_id(self.reader.store, self.row, release, self._length_options("outside_diameter")).document()

    def _roughness(self, release: ReleaseInfo) -> Mapping[str, Any]:
        unit = _unit(self.saved.answer.get("value"))
        answers = roughness_of(self.reader.store, None, release, Options(units={"roughness": unit}))
        return next(one.document() for one in answers if one.id == self.row)

    def _lining(self, release: ReleaseInfo) -> Mapping[str, Any]:
        named = next(name for name, _ in _quantities(self.saved.answer))
        answers = linings_of(self.reader.store, None, None, None, release, self._length_options(named))
        return next(one.document() for one in answers if one.id == self.row)

    def _length_options(self, name: str) -> Options:
        return Options("us" if _unit(self.saved.answer.get(name)) == "in" else "si", estimates=True)


def _quantities(answer: Mapping[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for name in QUANTITIES:
        held = answer.get(name)
        if isinstance(held, dict) and _is_number(held.get("magnitude")) and isinstance(held.get("unit"), str):
            yield name, held


def _identity(held: Any) -> Any:
    return held["id"] if isinstance(held, dict) and "id" in held else held


def _is_number(held: Any) -> bool:
    return isinstance(held, int | float) and not isinstance(held, bool) and math.isfinite(held)


def _magnitude(held: Any) -> float:
    if not isinstance(held, dict) or not _is_number(held.get("magnitude")):
        raise BadParameter("state: a part of it is no quantity.", parameter="state")
    return float(held["magnitude"])


def _unit(held: Any) -> str:
    if not isinstance(held, dict) or not isinstance(held.get("unit"), str):
        raise BadParameter("value: it is no quantity with a unit.", parameter="value")
    return str(held["unit"])


def _same(given: Mapping[str, Any], again: Any) -> bool:
    if not isinstance(again, dict) or again["unit"] != given["unit"]:
        return False
    return math.isclose(given["magnitude"], again["magnitude"], rel_tol=SAME, abs_tol=SAME)


def _words(held: Any) -> str:
    return f"{held['magnitude']} {held['unit']}" if isinstance(held, dict) else "not told"
