"""Many states at once: columns of values, standard uncertainties, status and row."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from refdb.lookup.evaluate import Each
from refdb.lookup.state import State, parse_part, strength_dimension
from refdb.problems import BadParameter, BadQuantity, NotFinite
from refdb.units import Quantity, Unit, units
from refdb.units.quantity import ANSWER_DIGITS, LARGEST
from refdb.vocabulary import STATE

if TYPE_CHECKING:
    import pyarrow

    from refdb.documents import SubjectReference
    from refdb.values.documents import BatchDocument, BatchProperty, BatchRefusal, RefusedDocument

OK, BOUND = "ok", "bound"
MOST_STATES = 1_000_000
COLUMNS = ("value", "standard_uncertainty", "status", "row")
STATE_PARTS = ("temperature", "pressure", "salinity", "strength")


@dataclass(frozen=True, slots=True)
class BatchPart:
    """One property at every state, in `unit`.

    Attributes:
        each: values and uncertainties in the row's own unit, and where they were refused.
        row: the id of the row that answered, and its digest.
        bounded: whether all that is known are the `limits`.
    """

    property_id: str
    own: Unit
    unit: Unit
    each: Each
    row: str
    digest: str
    bounded: bool = False

    @property
    def value(self) -> Any:
        """The values in `unit`, NaN where refused or only bounded; an array."""
        return self._told(self.own.to(self.each.value, self.unit))

    @property
    def standard_uncertainty(self) -> Any:
        """The standard uncertainties in `unit`, NaN where refused or only bounded; an array."""
        return self._told(self.own.difference_to(self.each.standard_uncertainty, self.unit))

    def limits(self) -> dict[Literal["low", "high"], list[float | None]]:
        """`low` and `high` in `unit`, None where refused; nothing where there are values."""
        if not self.bounded:
            return {}
        codes = self.status_codes.tolist()
        low, high = (told_where_answered(self.own.to(end, self.unit), codes) for end in self.each.limits())
        return {"low": low, "high": high}

    @property
    def missing(self) -> Any:
        """Where there is no value; a mask, None where there is one at every state."""
        import numpy as np

        if self.bounded:
            return np.ones(len(self.each.value), dtype=bool)
        return self.status_codes != 0 if self.each.refused else None

    def _told(self, numbers: Any) -> Any:
        return numbers + math.nan if self.bounded else numbers

    @property
    def statuses(self) -> list[str]:
        """The words of `status_codes`: `ok` or `bound`, then the slug of each kind of refusal that occurs."""
        first = BOUND if self.bounded else OK
        return list(dict.fromkeys([first, *(problem.slug for _, problem in self.each.refused)]))

    @property
    def status_codes(self) -> Any:
        """For every state, its place in `statuses`; an array of small integers."""
        import numpy as np

        codes = np.zeros(len(self.each.value), dtype=np.int8)
        words = self.statuses
        for where, problem in self.each.refused:
            codes[where] = words.index(problem.slug)
        return codes

    def refused(self) -> list[BatchRefusal]:
        """Every kind of refusal: how many states it met, the first of them, and its problem."""
        return [
            {
                "status": problem.slug,
                "count": int(where.sum()),
                "first": int(where.argmax()),
                "problem": problem.document(),
            }
            for where, problem in self.each.refused
        ]


@dataclass(frozen=True, slots=True)
class Batch:
    """Properties of one subject at many states.

    Attributes:
        refused: of an open question, the properties that could be answered at no state, each with its problem.
    """

    release: str
    subject: SubjectReference
    parts: list[BatchPart]
    refused: list[RefusedDocument]

    def __len__(self) -> int:
        return len(self.parts[0].each.value)

    def columns(self) -> list[tuple[str, BatchPart]]:
        """The prefix of each property's columns: none when only one is answered, else the property and a point."""
        alone = len(self.parts) == 1
        return [("" if alone else f"{part.property_id}.", part) for part in self.parts]

    def document(self) -> BatchDocument:
        """The columns as plain JSON values; null where a state was refused."""
        columns: dict[str, Sequence[float | str | None]] = {}
        for prefix, part in self.columns():
            words = part.statuses
            codes = part.status_codes.tolist()
            nowhere = [1] * len(codes) if part.bounded else codes
            columns[prefix + "value"] = told_where_answered(part.value, nowhere)
            columns[prefix + "standard_uncertainty"] = told_where_answered(part.standard_uncertainty, nowhere)
            columns |= {prefix + name: numbers for name, numbers in part.limits().items()}
            columns[prefix + "status"] = [words[code] for code in codes]
            columns[prefix + "row"] = [part.row] * len(self)
        return {
            "release": self.release,
            "subject": self.subject,
            "count": len(self),
            "columns": columns,
            "properties": [_part_document(part) for part in self.parts],
            "refused": self.refused,
        }

    def arrow(self) -> pyarrow.Table:
        """The columns as an Arrow table: units in the metadata of the fields, the release in that of the schema.

        Those metadata also say why a property was refused. Status and row are dictionary-encoded; a value is null where
        its state was refused.
        """
        import pyarrow as pa

        fields, arrays = [], []
        for prefix, part in self.columns():
            units_told = {"unit": part.unit.symbol, "ucum": part.unit.ucum, "property": part.property_id}
            missing = part.missing
            for name, numbers in (("value", part.value), ("standard_uncertainty", part.standard_uncertainty)):
                _require_finite(prefix + name, numbers, missing)
                fields.append(pa.field(prefix + name, pa.float64(), metadata=units_told))
                arrays.append(pa.array(numbers, mask=missing))
            for name, ends in part.limits().items():
                fields.append(pa.field(prefix + name, pa.float64(), metadata=units_told))
                arrays.append(pa.array(ends, pa.float64()))
            for name, codes, words in (
                ("status", part.status_codes, part.statuses),
                ("row", part.status_codes * 0, [part.row]),
            ):
                column = pa.DictionaryArray.from_arrays(pa.array(codes), pa.array(words))
                fields.append(pa.field(prefix + name, column.type))
                arrays.append(column)
        metadata = {"release": self.release, "subject": str(self.subject["id"])}
        metadata |= {f"digest:{part.row}": part.digest for part in self.parts}
        metadata |= {f"refused:{item['property']}": item["problem"]["detail"] for item in self.refused}
        return pa.table(arrays, schema=pa.schema(fields, metadata=metadata))


def _require_finite(name: str, numbers: Any, missing: Any) -> None:
    told = numbers if missing is None else numbers[~missing]
    if not (abs(told) < math.inf).all():
        raise NotFinite(f"{name}: becomes no finite number at one of the states; ask state by state.", parameter=name)


def _part_document(part: BatchPart) -> BatchProperty:
    return {
        "property": part.property_id,
        "unit": part.unit.symbol,
        "ucum": part.unit.ucum,
        "row": {"id": part.row, "digest": part.digest},
        "assumptions": list(part.each.assumptions),
        "refused": part.refused(),
    }


def told_where_answered(array: Any, codes: Sequence[int]) -> list[float | None]:
    """Numbers to as many digits as any answer; None where the state was refused, which is where a code is not 0."""
    return [
        None if code else float(f"{number:.{ANSWER_DIGITS}g}")
        for number, code in zip(array.tolist(), codes, strict=True)
    ]


def read_batch_state(given: Mapping[str, Any]) -> tuple[State, int]:
    """The states of a batch.

    Args:
        given: `temperature`, `pressure`, `salinity`, `strength`, each absent, a quantity's text, or a mapping of `unit`
            and `magnitudes` (or one `magnitude`), or a Quantity. Lists must be of one length.

    Returns:
        The state, and how many states it is.

    Raises:
        BadParameter: a part is none of these, or the lists differ in length.
        BadQuantity, UnknownUnit, WrongDimension: a quantity is not one, or measures something else.
    """
    assumptions: list[str] = []
    parts = [_read_part(name, given.get(name), assumptions) for name in STATE_PARTS]
    lengths = {name: len(part) for name, part in zip(STATE_PARTS, parts, strict=True) if part is not None}
    longest = max(lengths.values(), default=0)
    for name, length in lengths.items():
        if length not in {1, longest}:
            raise BadParameter(
                f"{name}: holds {length} magnitudes where another part of the state holds {longest}; give lists of "
                "one length, or a single magnitude for all.",
                parameter=name,
            )
    if longest == 0:
        raise BadParameter(
            'temperature: no state is given; write one, as in {"unit": "degC", "magnitudes": [20, 40]}.',
            parameter="temperature",
        )
    celsius, pascals, salinity, strength = (
        part if part is None or len(part) == longest else float(part[0]) for part in parts
    )
    basis = _basis(given.get("strength"))
    if strength is not None and basis is not None:
        strength = Quantity(strength, basis)
    return State(celsius, pascals, salinity, strength, tuple(assumptions)), longest


def _basis(given: Any) -> Unit | None:
    """The unit of a strength that is no mass fraction, in which it is held until the solution is known; else None."""
    if given is None:
        return None
    unit = parse_part(given, "strength").unit if isinstance(given, str) else _own_unit("strength", _spelling(given))
    dimension = strength_dimension(unit)
    return None if dimension == STATE["strength"].dimension else unit


def _spelling(given: Any) -> str:
    return given.unit.symbol if isinstance(given, Quantity) else str(given["unit"])


def _read_part(name: str, given: Any, assumptions: list[str]) -> Any:
    """One part of the state as an array in the unit it is held in; a strength on another basis in its own unit."""
    if given is None:
        return None
    import numpy as np

    if isinstance(given, str):
        quantity = parse_part(given, name)
        unit, magnitudes = quantity.unit, np.array([quantity.magnitude])
    elif isinstance(given, Quantity):
        unit, magnitudes = _own_unit(name, given.unit.symbol), np.atleast_1d(given.magnitude)
    else:
        unit, magnitudes = _listed(name, given)
    if unit.gauge:
        assumptions.append("gauge pressure is counted from 1 atm")
    elif unit.assume:
        assumptions.append(unit.assume)
    held = unit.to(magnitudes, units().si(unit.dimension))
    if not (abs(held) <= LARGEST).all():
        raise _not_a_number(name, (abs(held) <= LARGEST).tolist())
    if unit.dimension != STATE[name].dimension:
        return magnitudes
    return unit.to(magnitudes, units().find(STATE[name].unit, unit.dimension))


def _own_unit(name: str, spelling: str) -> Unit:
    if name == "strength":
        return parse_part(f"1 {spelling}", name).unit
    return units().find(spelling, STATE[name].dimension, name)


def _listed(name: str, given: Any) -> tuple[Unit, Any]:
    import numpy as np

    if not isinstance(given, Mapping) or set(given) not in ({"unit", "magnitudes"}, {"unit", "magnitude"}):
        raise BadParameter(
            f'{name}: is not a quantity; write "20 degC", or a mapping of unit and magnitudes, as in '
            '{"unit": "degC", "magnitudes": [20, 40]}.',
            parameter=name,
        )
    unit = _own_unit(name, _text(name, given["unit"]))
    listed = given["magnitudes"] if "magnitudes" in given else [given["magnitude"]]
    if not isinstance(listed, Sequence) or isinstance(listed, str) or not 1 <= len(listed) <= MOST_STATES:
        raise BadParameter(
            f"{name}: magnitudes must be a list of 1 to {MOST_STATES} numbers; send more in several questions.",
            parameter=name,
        )
    magnitudes = np.array(listed, dtype=np.float64) if set(map(type, listed)) <= {int, float} else None
    if magnitudes is None:
        raise _not_a_number(name, [type(item) in {int, float} for item in listed])
    return unit, magnitudes


def _text(name: str, unit: Any) -> str:
    if isinstance(unit, str):
        return unit
    raise BadParameter(f"{name}: its unit must be a text, as in degC.", parameter=name)


def _not_a_number(name: str, numbers: Sequence[bool]) -> BadQuantity:
    """The problem of the first magnitude that is no number of a size that is measured."""
    return BadQuantity(
        f"{name}: magnitude {numbers.index(False)} is not a finite number of a size that is measured; send numbers "
        "only, and leave out what is missing.",
        parameter=name,
    )
