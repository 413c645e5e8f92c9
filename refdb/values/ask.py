"""Values at a state: of one property or several, at one state or at many."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any, TypeVar

from refdb.lookup import ReleaseInfo, StoredRecord
from refdb.lookup.state import State, read_state
from refdb.problems import Problem
from refdb.values.batch import Batch, BatchPart, read_batch_state
from refdb.values.layers import layered_answer
from refdb.values.options import SI, Options, read_options, require_release_only
from refdb.values.question import ValueQuestion
from refdb.values.reader import Reader
from refdb.values.refusals import advised, check_property, most_telling, nothing_advised, told
from refdb.values.subjects import subject_reference
from refdb.values.value import Answer, Values, answer
from refdb.vocabulary import properties

Found = TypeVar("Found")


def value_of(reader: Reader, asked: ValueQuestion) -> Answer:
    """One property of a subject at a state.

    Raises:
        Problem: the question cannot be answered as asked.
    """
    state = read_state(asked.temperature, asked.pressure, asked.salinity, asked.strength)
    units = {asked.property: asked.unit} if asked.unit else None
    options = read_options(None, units, asked.accept, asked.layers)
    release = reader.release(asked.release, asked.as_of)
    return values_at(reader, asked.subject, [asked.property], state, asked.condition, options, release).values[0]


def values_at(
    reader: Reader,
    subject: str,
    property_ids: Iterable[str],
    state: State,
    condition: str | None = None,
    options: Options = SI,
    release: ReleaseInfo | None = None,
    kind: str | None = None,
) -> Values:
    """Several properties of a subject at a state.

    Args:
        property_ids: the properties; none means every one that an engineer needs or a row advises.
        kind: `material` or `liquid` where only that kind of subject will do.

    Raises:
        Problem: a named property, or all, cannot be answered.
    """
    release = release or reader.release()
    record = reader.subject(subject, release, kind)
    state = reader.with_mass_fraction(record, state, release)
    named = _checked(property_ids, record)
    wanted = named or _open_question(reader, record, release, options)
    ask = _layered if options.house else _released
    answers, problems = _each(
        wanted, bool(named), lambda name: ask(reader, record, name, state, condition, options, release)
    )
    if not answers:
        raise most_telling(problems)
    return Values(release.label, answers, told(problems))


def batch_at(
    reader: Reader,
    subject: str,
    property_ids: Iterable[str],
    state: Mapping[str, Any],
    condition: str | None = None,
    options: Options = SI,
    release: ReleaseInfo | None = None,
) -> Batch:
    """Properties of a subject at many states at once; a state that cannot be answered spoils no other.

    Args:
        property_ids: the properties; none means every one that a row advises, those that cannot be answered at all
            told under `refused`.
        state: `temperature`, `pressure`, `salinity`, `strength`: each a Quantity, its text, or a mapping of `unit` and
            `magnitudes`. Arrays and lists must be of one length.

    Raises:
        Problem: the question as a whole is wrong: an unknown name, a wrong unit, a part of the state missing.
        NotAvailable: no property is named, and no row advises any.
    """
    require_release_only(options, "many states at once are answered")
    release = release or reader.release()
    record = reader.subject(subject, release)
    states, count = read_batch_state(state)
    states = reader.with_mass_fraction(record, states, release)
    named = _checked(property_ids, record)
    wanted = named or advised(reader.store, record, release, estimates=options.estimates)
    if not wanted:
        raise nothing_advised(reader.store, record, release)
    liquid = record.body["subject_kind"] == "liquid"

    def part(property_id: str) -> BatchPart:
        text = reader.permitted(record, property_id, condition, options, release)
        each = text.row.evaluate_each(states, count, needs_temperature=liquid)
        unit = options.unit_for(property_id, text.row.unit)
        return BatchPart(property_id, text.row.unit, unit, each, text.row.id, text.row.digest, text.row.is_bounded)

    parts, problems = _each(wanted, bool(named), part)
    if not parts:
        raise most_telling(problems)
    return Batch(release.label, subject_reference(record.body), parts, told(problems))


def _checked(property_ids: Iterable[str], subject: StoredRecord) -> list[str]:
    """The properties that are named, each once."""
    named = list(dict.fromkeys(property_ids))
    for property_id in named:
        check_property(property_id, subject)
    return named


def _each(
    wanted: Iterable[str], named: bool, ask: Callable[[str], Found]
) -> tuple[list[Found], list[tuple[str, Problem]]]:
    """What is found for each property, and the problems of those of an open question that have none."""
    found: list[Found] = []
    problems: list[tuple[str, Problem]] = []
    for property_id in wanted:
        try:
            found.append(ask(property_id))
        except Problem as problem:
            if named:
                raise
            problems.append((property_id, problem))
    return found, problems


def _layered(
    reader: Reader,
    subject: StoredRecord,
    property_id: str,
    state: State,
    condition: str | None,
    options: Options,
    release: ReleaseInfo,
) -> Answer:
    kept = reader.house_layer().rows(subject.id, property_id)
    return layered_answer(
        [row for row in kept if row.record.body.get("condition") == condition],
        subject_reference(subject.body),
        state,
        options,
        release.label,
        lambda: _released(reader, subject, property_id, state, condition, options, release),
    )


def _released(
    reader: Reader,
    subject: StoredRecord,
    property_id: str,
    state: State,
    condition: str | None,
    options: Options,
    release: ReleaseInfo,
) -> Answer:
    text = reader.permitted(subject, property_id, condition, options, release)
    evaluated = text.row.evaluate(state, needs_temperature=subject.body["subject_kind"] == "liquid")
    return answer(text, evaluated, options.unit_for(property_id, text.row.unit))


def _open_question(reader: Reader, subject: StoredRecord, release: ReleaseInfo, options: Options) -> list[str]:
    """The properties an open question is about: those an engineer needs, then whatever else is advised."""
    kind = subject.body["subject_kind"]
    needed = [name for name, definition in properties().items() if kind in definition["asked_of"]]
    known = advised(reader.store, subject, release, estimates=options.estimates)
    kept = reader.house_layer().properties(subject.id) if options.house else []
    return list(dict.fromkeys([*needed, *known, *kept]))
