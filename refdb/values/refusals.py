"""Why a property has no value, and the way out: other properties, an estimate, or measuring on site."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.lookup.find import likeliest
from refdb.problems import BadParameter, NotAvailable, Problem, UnknownName
from refdb.records.readings import PROPERTY_READING_KINDS
from refdb.values.options import ESTIMATE_RUNGS
from refdb.vocabulary import conditions, properties

if TYPE_CHECKING:
    from refdb.values.documents import RefusedDocument


_SOLID_SPEED = (
    "Measure it on site from an echo through a known thickness (`refdb measure-speed`, after ASTM E494; a common gauge "
    "gives the longitudinal speed only, and the shear speed needs a shear-wave probe or Poisson's ratio)"
)
_LIQUID_SPEED = (
    "What is needed is one travel time at a known temperature: measure it on site in a spool or beaker over two known "
    "paths, c = d / t, or against water at the same temperature, c = c_w t_w / t (`refdb measure-speed --path`, "
    "`refdb measure-speed --water-time`); a hazardous liquid only as the rules of the site allow"
)
_LIQUID_DENSITY = (
    "What is needed is a sample at its temperature: measure it with a hydrometer or a pycnometer; a hazardous liquid "
    "only as the rules of the site allow"
)

RECIPES: Mapping[str, tuple[str, str]] = {
    "longitudinal_speed": ("material", _SOLID_SPEED),
    "shear_speed": ("material", _SOLID_SPEED),
    "sound_speed": ("liquid", _LIQUID_SPEED),
    "density": ("liquid", _LIQUID_DENSITY),
}
"""For properties that can be measured on site: the kind of subject, and how."""


def check_property(property_id: str, subject: StoredRecord) -> None:
    """Check that subjects of this kind have such a property.

    Raises:
        UnknownName: there is no such property.
        BadParameter: subjects of that kind have none such.
    """
    kind = subject.body["subject_kind"]
    asked = properties().get(property_id)
    if asked is not None and kind in asked["applies_to"]:
        return
    fitting = [name for name, definition in properties().items() if kind in definition["applies_to"]]
    if asked is None:
        near = likeliest(property_id, fitting)
        raise UnknownName(
            f"property: there is no property '{property_id}'; a {kind} has {', '.join(near or fitting)}.",
            parameter="property",
            given=property_id,
            candidates=near or fitting,
        )
    raise BadParameter(
        f"property: {property_id} is not a property of a {kind}, which {subject.id} is; a {kind} has "
        f"{', '.join(fitting)}.",
        parameter="property",
        given=property_id,
        accepted=fitting,
    )


def advised(store: ReleaseStore, subject: StoredRecord, release: ReleaseInfo, *, estimates: bool) -> list[str]:
    """The properties that have a row; those that have nothing but an estimate only where it is accepted."""
    rows = store.about(("recommended",), subject.id, release)
    return sorted({row.body["property"] for row in rows if estimates or row.body["rung"] not in ESTIMATE_RUNGS})


def only_an_estimate(property_id: str, subject: StoredRecord, bounded: bool) -> NotAvailable:
    """The problem of a property for which nothing but an estimate exists, where estimates are not accepted.

    Args:
        bounded: whether the estimate is no more than a bound.
    """
    recipe = _recipe(property_id, subject)
    what = "what it lies between is known" if bounded else "an estimate exists"
    return NotAvailable(
        f"{property_id}: nobody published it for {subject.id}; {what}, and is given with accept=estimates."
        f"{f' {recipe}.' if recipe is not None else ''}",
        parameter="property",
        estimate_available=True,
    )


def no_row(
    store: ReleaseStore, subject: StoredRecord, property_id: str, condition: str | None, release: ReleaseInfo
) -> Problem:
    """The problem of a property, or of a condition, for which a release has no row."""
    rows = store.about(("recommended",), subject.id, release)
    if condition is not None:
        known = sorted(r.body["condition"] for r in rows if r.body["property"] == property_id and "condition" in r.body)
        way_out = (
            f"conditions told apart here are {', '.join(known)}" if known else "none are told apart here; leave it out"
        )
        problem: type[Problem] = NotAvailable if condition in conditions() else UnknownName
        return problem(
            f"condition: {property_id} of {subject.id} has no row for '{condition}'; {way_out}.",
            parameter="condition",
            given=condition,
            candidates=known,
        )
    readings = [
        r for r in store.about(PROPERTY_READING_KINDS, subject.id, release) if r.body["property"] == property_id
    ]
    seen = "no document seen so far prints one"
    if readings:
        seen = f"none of its {len(readings)} reading(s) can be used (see `refdb readings {subject.id} {property_id}`)"
    measure = _recipe(property_id, subject) or "Measure it"
    # What a mixture is asked for instead, where the text says so.
    note = f" {subject.body['note']}" if "note" in subject.body else ""
    return NotAvailable(
        f"{property_id}: release {release.label} advises no value for {subject.id}; {seen}. {measure}, or ask for "
        f"one of {', '.join(advised(store, subject, release, estimates=False)) or 'another subject'}.{note}",
        parameter="property",
        given=property_id,
        estimate_available=False,
    )


def nothing_advised(store: ReleaseStore, subject: StoredRecord, release: ReleaseInfo) -> NotAvailable:
    """The problem of a subject without any row that may answer."""
    estimated = advised(store, subject, release, estimates=True)
    kind = subject.body["subject_kind"]
    if estimated:
        way_out = f"Estimates of {', '.join(estimated)} exist, and are given with accept=estimates"
    else:
        way_out = next(recipe for of, recipe in RECIPES.values() if of == kind)
    note = f" {subject.body['note']}" if "note" in subject.body else ""
    return NotAvailable(
        f"subject: release {release.label} advises no value for {subject.id}. {way_out}.{note}",
        parameter="subject",
        given=subject.id,
        estimate_available=bool(estimated),
    )


def told(problems: Sequence[tuple[str, Problem]]) -> list[RefusedDocument]:
    """The properties that could not be answered, each with its problem, as plain JSON values."""
    return [{"property": property_id, "problem": problem.document()} for property_id, problem in problems]


def most_telling(problems: Sequence[tuple[str, Problem]]) -> Problem:
    """The problem that says most when everything was refused: a wrong state before a value nobody published."""
    return min((problem for _, problem in problems), key=lambda problem: isinstance(problem, NotAvailable))


def _recipe(property_id: str, subject: StoredRecord) -> str | None:
    """How a property is measured on site; None where there is no recipe."""
    kind, recipe = RECIPES.get(property_id, (None, None))
    return recipe if kind == subject.body["subject_kind"] else None
