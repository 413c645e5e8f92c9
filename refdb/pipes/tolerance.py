"""How far a pipe may lie from its nominal dimensions, by the standard it is made to."""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.records import printed_number
from refdb.units import Quantity, Unit, units

if TYPE_CHECKING:
    from refdb.pipes.documents import ToleranceDocument


_COMPARED: dict[str, Callable[[Any, Any], bool]] = {
    "=": operator.eq,
    "<": operator.lt,
    "<=": operator.le,
    ">": operator.gt,
    ">=": operator.ge,
}
SAME_LENGTH = 1e-9
"""Lengths in metres are compared to this: less than any standard prints, more than conversion costs."""


@dataclass(frozen=True, slots=True)
class NominalPipe:
    """What the conditions and forms of a tolerance are about; lengths in metres."""

    size: dict[str, str]
    designations: list[str]
    outside_diameter: float
    wall: float | None


@dataclass(frozen=True, slots=True)
class ToleranceAnswer:
    """The limits of one dimension of one pipe.

    Attributes:
        minus, plus: how far below and above the nominal value it may lie; None where the standard does not say, or
            sets no limit.
        plus_unlimited: whether the standard sets no upper limit.
    """

    record: StoredRecord
    minus: Quantity | None
    plus: Quantity | None
    plus_unlimited: bool

    def document(self) -> ToleranceDocument:
        """The limits as plain JSON values."""
        body = self.record.body
        return {
            "minus": self.minus.document() if self.minus is not None else None,
            "plus": self.plus.document() if self.plus is not None else None,
            "plus_unlimited": self.plus_unlimited,
            "text": tolerance_words(body),
            "standard": body["standard"],
            "row": {"id": self.record.id, "digest": self.record.digest},
        }


def tolerance_of(
    store: ReleaseStore,
    release: ReleaseInfo,
    system_id: str,
    standards: Iterable[str],
    pipe: NominalPipe,
    quantity: str,
    unit: Unit,
) -> ToleranceAnswer | None:
    """The limits of a dimension, by the first of the standards that has any for the pipe.

    Args:
        standards: the standards that a pipe of the system may be made to, the usual one first.
        quantity: `outside_diameter` or `wall`.
        unit: the unit to answer in.
    """
    rows = [
        record
        for record in store.of_system("recommended-tolerance", system_id, release)
        if record.body["quantity"] == quantity and applies(record.body, pipe)
    ]
    nominal = pipe.outside_diameter if quantity == "outside_diameter" else pipe.wall
    for standard in standards:
        fitting = [record for record in rows if record.body["standard"] == standard]
        if fitting and nominal is not None:
            record = max(fitting, key=_closeness)
            body = record.body
            minus = _deviation(body.get("minus"), pipe, nominal, unit, -1.0)
            plus = _deviation(body.get("plus"), pipe, nominal, unit, 1.0)
            return ToleranceAnswer(record, minus, plus, "unlimited" in body.get("plus", {}))
    return None


def applies(body: dict[str, Any], pipe: NominalPipe) -> bool:
    """Whether a tolerance or a lining is for a pipe: any of its designations, and all of its conditions."""
    words = body.get("designations")
    if words is not None and not set(words) & set(pipe.designations):
        return False
    return all(_holds(condition, pipe) for condition in body.get("where", []))


def _closeness(record: StoredRecord) -> tuple[bool, int]:
    """What names the designation, then what names the size most closely."""
    where = record.body.get("where", [])
    return "designations" in record.body, sum(2 if c["relation"] == "=" else 1 for c in where)


def _holds(condition: dict[str, Any], pipe: NominalPipe) -> bool:
    compare = _COMPARED[condition["relation"]]
    what, number = condition["what"], condition["number"]
    if what in {"outside_diameter", "wall"}:
        own = pipe.outside_diameter if what == "outside_diameter" else pipe.wall
        limit = printed_number(number) * units().find(condition["unit"], "length").scale
        return own is not None and compare(limit if abs(own - limit) < SAME_LENGTH else own, limit)
    if what == "wall_ratio":
        return pipe.wall is not None and compare(pipe.wall / pipe.outside_diameter, printed_number(number))
    return what in pipe.size and compare(_size_number(pipe.size[what]), _size_number(number))


# The few sizes of the trade are compared again and again: with every condition, for every pipe.
@lru_cache(maxsize=4096)
def _size_number(text: str) -> Fraction:
    return sum((Fraction(part) for part in text.split()), Fraction(0))


def _deviation(
    limit: dict[str, Any] | None, pipe: NominalPipe, nominal: float, unit: Unit, sign: float
) -> Quantity | None:
    if limit is None or "unlimited" in limit:
        return None
    if "extreme" in limit:
        extreme = limit["extreme"]
        metres = sign * (printed_number(extreme["number"]) * units().find(extreme["unit"], "length").scale - nominal)
    else:
        metres = max(_term(term, pipe, nominal) for term in limit["greatest_of"])
    # Zero is written without a sign, whatever the subtraction left.
    return Quantity(round(metres / unit.scale, 9) + 0.0, unit)


def _term(term: dict[str, Any], pipe: NominalPipe, nominal: float) -> float:
    number = printed_number(term["number"])
    if term["unit"] == "%":
        return number / 100.0 * nominal
    scale = units().find(term["unit"], "length").scale
    return number * scale + _grown(term, pipe)


def _grown(term: dict[str, Any], pipe: NominalPipe) -> float:
    """What the slope adds, in metres; DN counts millimetres."""
    if "of" not in term:
        return 0.0
    lengths = {"outside_diameter": pipe.outside_diameter, "wall": pipe.wall or 0.0}
    of = term["of"]
    metres = lengths[of] if of in lengths else float(_size_number(pipe.size["DN"])) / 1000.0
    return printed_number(term["slope"]) * metres


def tolerance_words(body: Mapping[str, Any]) -> str:
    """The rule in a line: `wall: minus 12.5 %; no upper limit`."""
    parts = [_limit_words(side, body[side]) for side in ("minus", "plus") if side in body]
    where = f" where {scope_words(body)}" if "where" in body or "designations" in body else ""
    return f"{body['quantity'].replace('_', ' ')}: {', '.join(parts)}{where}"


def _limit_words(side: str, limit: dict[str, Any]) -> str:
    if "unlimited" in limit:
        return f"no {'upper' if side == 'plus' else 'lower'} limit"
    if "extreme" in limit:
        return f"{'up' if side == 'plus' else 'down'} to {limit['extreme']['number']} {limit['extreme']['unit']}"
    terms = [_term_words(term) for term in limit["greatest_of"]]
    return f"{side} {terms[0] if len(terms) == 1 else 'the greater of ' + ' and '.join(terms)}"


def _term_words(term: dict[str, Any]) -> str:
    grown = f" + {term['slope']} {term['of'].replace('_', ' ')}" if "of" in term else ""
    return f"{term['number']} {term['unit']}{grown}"


def scope_words(body: Mapping[str, Any]) -> str:
    """Which pipes a row is for, in a line."""
    return ", ".join(_scope_parts(body))


def _scope_parts(body: Mapping[str, Any]) -> Iterator[str]:
    if "designations" in body:
        yield " or ".join(body["designations"])
    for condition in body.get("where", []):
        unit = f" {condition['unit']}" if "unit" in condition else ""
        yield f"{condition['what'].replace('_', ' ')} {condition['relation']} {condition['number']}{unit}"
