"""The body of a question about many states, checked by hand: a list of a million numbers has no need of a model."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from refdb.problems import BadParameter
from refdb.values.batch import STATE_PARTS

_TEXTS = ("condition", "units", "accept", "layers", "release", "as_of")
_MEMBERS = ("subject", "properties", *STATE_PARTS, "unit", *_TEXTS)


@dataclass(frozen=True, slots=True)
class Question:
    """A batch as it was asked; quantities are still as they came."""

    subject: str
    properties: list[str]
    state: dict[str, Any]
    unit: dict[str, str]
    condition: str | None
    units: str | None
    accept: str | None
    layers: str | None
    release: str | None
    as_of: str | None


def read_question(body: Mapping[str, Any]) -> Question:
    """The question in a body.

    Raises:
        BadParameter: a member is unknown, missing or of the wrong kind.
    """
    for name in body:
        if name not in _MEMBERS:
            raise BadParameter(
                f"{name}: this route takes no such member; it takes {', '.join(_MEMBERS)}.",
                parameter=name,
                accepted=list(_MEMBERS),
            )
    subject = body.get("subject")
    if not isinstance(subject, str):
        raise _wrong("subject", "a text, the exact name of a subject", "water")
    properties = body.get("properties", [])
    if not isinstance(properties, list) or not all(isinstance(item, str) for item in properties):
        raise _wrong("properties", "a list of texts", '["sound_speed"]')
    unit = body.get("unit", {})
    if not isinstance(unit, dict) or not all(isinstance(item, str) for item in unit.values()):
        raise _wrong("unit", "a mapping of properties to units", '{"density": "lb/ft3"}')
    for name in _TEXTS:
        if not isinstance(body.get(name, ""), str | None):
            raise _wrong(name, "a text", f"see the description of {name}")
    state = {name: body[name] for name in STATE_PARTS if name in body}
    texts = {name: body.get(name) for name in _TEXTS}
    return Question(subject=subject, properties=properties, state=state, unit=unit, **texts)


def _wrong(name: str, words: str, example: str) -> BadParameter:
    return BadParameter(f"{name}: must be {words}, as in {example}.", parameter=name)
