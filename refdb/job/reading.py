"""A document read into its model; everything that is wrong in it is told at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from difflib import get_close_matches
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from refdb.job.limits import beyond
from refdb.problems import BadParameter

M = TypeVar("M", bound=BaseModel)
MISSING = "is missing, and nothing can be assumed in its place; add it"
Fault = dict[str, str]


def read_model(model: type[M], content: Mapping[str, Any]) -> M:
    """A document checked against its model, and its quantities against what they may be.

    Raises:
        BadParameter: members are unknown, missing, of the wrong kind or beyond their limits; all of them are told at
            once, and in `errors` one by one.
    """
    found: list[Fault] = []
    read: M | None = None
    try:
        read = model.model_validate(content)
    except ValidationError as error:
        found = list(_faults(error, model))
    known = {one["parameter"] for one in found}
    found += [{"parameter": where, "detail": words} for where, words in beyond(content) if where not in known]
    if read is None or found:
        more = {"errors": found} if len(found) > 1 else {}
        raise BadParameter(f"{_told(found)}.", parameter=found[0]["parameter"], **more)
    return read


def _faults(error: ValidationError, model: type[BaseModel]) -> Iterator[Fault]:
    """Each member that is wrong, once; what may be several things is told as all of them."""
    told: set[str] = set()
    for fault in error.errors(include_url=False, include_input=False):
        way = list(_way(fault["loc"], model))
        name = ".".join(map(str, way)) or "document"
        if name in told:
            continue
        told.add(name)
        several = len(way) < len(fault["loc"])
        yield {"parameter": name, "detail": _several(way, model) if several else _words(fault, model)}


def _told(found: Sequence[Fault]) -> str:
    """All that is wrong in one line; what is missing is named together."""
    missing = [one["parameter"] for one in found if one["detail"] == MISSING]
    told = [f"{one['parameter']}: {one['detail']}" for one in found if one["detail"] != MISSING]
    if len(missing) == 1:
        told.append(f"{missing[0]}: {MISSING}")
    elif missing:
        told.append(f"{', '.join(missing)}: are missing, and nothing can be assumed in their place; add them")
    return "; ".join(told)


def _way(location: Sequence[int | str], model: type[BaseModel]) -> Iterator[int | str]:
    """The members on the way to a fault, without the names of the things that the last of them may be."""
    part: type[BaseModel] | None = model
    for step in location:
        if isinstance(step, int):
            yield step
            continue
        if part is None:
            return
        yield step
        field = _field(part, step)
        part = _section(field.annotation) if field is not None else None


def _field(part: type[BaseModel], name: str) -> FieldInfo | None:
    for own, field in part.model_fields.items():
        if name in {own, field.alias}:
            return field
    return None


def _section(annotation: Any) -> type[BaseModel] | None:
    """The part that a member is, or is a list of, or may be; None where it is no part."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for kind in get_args(annotation) if (found := _section(kind)) is not None), None)


def _several(way: Sequence[int | str], model: type[BaseModel]) -> str:
    """What a member may be that is several things."""
    field = _last(way, model)
    if field is not None and float in _kinds(field.annotation):
        return "must be a number of pipe diameters as 12, or a text as '12 D' or '3.5 m'"
    return "must be a text, a number with its unit as in '20 mm', or a list of such texts"


def _kinds(annotation: Any) -> set[Any]:
    inside = get_args(annotation)
    return {annotation} | {kind for each in inside for kind in _kinds(each)} if inside else {annotation}


def _last(way: Sequence[int | str], model: type[BaseModel]) -> FieldInfo | None:
    part: type[BaseModel] | None = model
    field = None
    for step in way:
        if isinstance(step, int) or part is None:
            continue
        field = _field(part, step)
        part = _section(field.annotation) if field is not None else None
    return field


def _nearest(location: Sequence[int | str], model: type[BaseModel]) -> str:
    """The member of a part of the document that is most like one which it does not have, in words."""
    *way, name = location
    part: type[BaseModel] = model
    for step in way:
        if isinstance(step, str):
            field = _field(part, step)
            part = (_section(field.annotation) if field is not None else None) or part
    known = [field.alias or own for own, field in part.model_fields.items()]
    near = get_close_matches(str(name), known, n=1)
    if near:
        return f"; the nearest is {near[0]}"
    elsewhere = {path.rpartition(".")[2]: path for path in members(model)}
    other = get_close_matches(str(name), list(elsewhere), n=1, cutoff=0.75)
    if other:
        return f"; the nearest is {elsewhere[other[0]]}"
    return f"; there are {', '.join(known)}"


def members(model: type[BaseModel], where: str = "") -> Iterator[str]:
    """Every member of a document, with the parts it lies in."""
    for own, field in model.model_fields.items():
        name = f"{where}{field.alias or own}"
        part = _section(field.annotation)
        if part is None:
            yield name
        else:
            yield from members(part, f"{name}.")


def _words(error: Mapping[str, Any], model: type[BaseModel]) -> str:
    if error["type"] == "extra_forbidden":
        return f"there is no such member{_nearest(error['loc'], model)}"
    if error["type"] == "missing":
        return MISSING
    if error["type"] == "string_type":
        return "must be a text, a number with its unit where it is a quantity, as in '20 degC'"
    if error["type"] in {"int_type", "float_type"}:
        return f"must be a {'whole ' if error['type'] == 'int_type' else ''}number, without quotation marks"
    if error["type"] in {"model_type", "dict_type", "model_attributes_type"}:
        return "must be a part with members of its own, as [pipe] in TOML"
    if error["type"] == "literal_error":
        return f"must be one of {error['ctx']['expected'].replace(' or ', ', ')}"
    return str(error["msg"]).lower()
