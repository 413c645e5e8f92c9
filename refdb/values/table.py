"""Printable tables: a property over a range of states, and every material with what a wall or lining needs."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

from refdb.lookup import ReleaseInfo
from refdb.lookup.state import State, parse_part
from refdb.problems import BadParameter, BadQuantity, NotAvailable
from refdb.units import Quantity, significant
from refdb.values.ask import batch_at, values_at
from refdb.values.batch import Batch, BatchPart, told_where_answered
from refdb.values.options import SI, Options
from refdb.values.reader import Reader
from refdb.values.value import Answer

if TYPE_CHECKING:
    from refdb.documents import PartName
    from refdb.values.documents import (
        AxisDocument,
        MaterialCell,
        MaterialLine,
        MaterialProperty,
        TableDocument,
        TablePart,
    )


MOST_CELLS = 10_000
AXES: tuple[PartName, ...] = ("temperature", "pressure", "salinity", "strength")
MATERIAL_PROPERTIES: tuple[MaterialProperty, ...] = ("longitudinal_speed", "shear_speed", "density")
Cell = TypeVar("Cell")

_RANGE = re.compile(r"\s*(?P<low>[^.\s]\S*?)\s*\.\.\s*(?P<high>\S+)\s+step\s+(?P<step>\S+)\s+(?P<unit>\S.*?)\s*")


def read_range(text: str, part: str) -> Quantity:
    """The states written as `0..100 step 5 degC`, or a single quantity; an array of magnitudes either way.

    Args:
        part: the part of the state, which is also the field of a problem's sentence.

    Raises:
        BadParameter: the step is not positive, or the range falls or has too many steps.
        BadQuantity, UnknownUnit, WrongDimension: an end or the step is no quantity of the part.
    """
    import numpy as np

    found = _RANGE.fullmatch(text)
    if found is None:
        if ".." in text:
            raise BadQuantity(
                f"{part}: '{text[:60]}' is not a range; write it as in '0..100 step 5 degC'.",
                parameter=part,
                given=text,
            )
        single = parse_part(text, part)
        return Quantity(np.array([single.magnitude]), single.unit)
    low, high, step = (parse_part(f"{found[name]} {found['unit']}", part) for name in _ENDS)
    span = high.magnitude - low.magnitude
    if not step.magnitude > 0.0 or span < 0.0 or span / step.magnitude >= MOST_CELLS:
        raise BadParameter(
            f"{part}: a range rises, by a step above zero, in fewer than {MOST_CELLS} steps, as in "
            f"'0..100 step 5 degC'; '{text[:60]}' does not.",
            parameter=part,
            given=text,
        )
    # The last step may fall short of the end by the rounding of binary fractions.
    count = int(span / step.magnitude + 1e-9) + 1
    return Quantity(np.round(low.magnitude + step.magnitude * np.arange(count), 12), low.unit)


_ENDS = ("low", "high", "step")


@dataclass(frozen=True, slots=True)
class StateTable:
    """Properties of one subject down one axis, and across a second where there is one."""

    batch: Batch
    down: tuple[PartName, Quantity]
    across: tuple[PartName, Quantity] | None
    single: Mapping[str, str]

    @property
    def width(self) -> int:
        """How many states stand in a line."""
        return 1 if self.across is None else len(self.across[1].magnitude)

    def document(self) -> TableDocument:
        """The table as plain JSON values: matrices of values, down first; null where a state was refused."""
        return {
            "release": self.batch.release,
            "subject": self.batch.subject,
            "down": _axis(self.down),
            "across": _axis(self.across) if self.across is not None else None,
            "state": dict(self.single),
            "tables": [self._part(part) for part in self.batch.parts],
            "refused": self.batch.refused,
        }

    def _part(self, part: BatchPart) -> TablePart:
        words, codes = part.statuses, part.status_codes.tolist()
        nowhere = [1] * len(codes) if part.bounded else codes
        return {
            "property": part.property_id,
            "unit": part.unit.symbol,
            "row": {"id": part.row, "digest": part.digest},
            "values": self._lines(told_where_answered(part.value, nowhere)),
            "standard_uncertainties": self._lines(told_where_answered(part.standard_uncertainty, nowhere)),
            "limits": {name: self._lines(cells) for name, cells in part.limits().items()},
            "status": self._lines([words[code] for code in codes]),
            "assumptions": list(part.each.assumptions),
            "refused": part.refused(),
        }

    def _lines(self, cells: list[Cell]) -> list[list[Cell]]:
        return [cells[start : start + self.width] for start in range(0, len(cells), self.width)]


def _axis(axis: tuple[PartName, Quantity]) -> AxisDocument:
    name, quantity = axis
    return {"name": name, "unit": quantity.unit.symbol, "magnitudes": significant(quantity.magnitude.tolist())}


def table_of(
    reader: Reader,
    subject: str,
    property_ids: Sequence[str],
    state: Mapping[str, str | None],
    *,
    condition: str | None = None,
    options: Options = SI,
    release: ReleaseInfo | None = None,
) -> StateTable:
    """A table of properties over the states that one or two ranges span.

    Args:
        state: parts of the state by name, each absent, a quantity's text, or a range such as `0..100 step 5 degC`.

    Raises:
        BadParameter: no part, or more than two, are ranges; the table would be too large.
        Problem: the question cannot be answered as asked.
    """
    import numpy as np

    read: dict[PartName, Quantity] = {
        name: read_range(text, name) for name in AXES if (text := state.get(name)) is not None
    }
    ranges: list[PartName] = [name for name, quantity in read.items() if len(quantity.magnitude) > 1]
    if not 1 <= len(ranges) <= 2:
        raise BadParameter(
            f"temperature: a table has one or two ranges, and {len(ranges)} are given; write one as in "
            "'0..100 step 5 degC'.",
            parameter="temperature",
        )
    down, across = read[ranges[0]], read[ranges[1]] if len(ranges) > 1 else None
    width = 1 if across is None else len(across.magnitude)
    cells = len(down.magnitude) * width
    if cells > MOST_CELLS:
        raise BadParameter(
            f"{ranges[0]}: the table has {cells} cells; take larger steps, for {MOST_CELLS} at most.",
            parameter=ranges[0],
        )
    asked: dict[str, Any] = {ranges[0]: Quantity(np.repeat(down.magnitude, width), down.unit)}
    if across is not None:
        asked[ranges[1]] = Quantity(np.tile(across.magnitude, len(down.magnitude)), across.unit)
    single: dict[str, str] = {
        name: text for name, text in state.items() if name in read and name not in ranges and text is not None
    }
    batch = batch_at(
        reader, subject, property_ids, state=asked | single, condition=condition, options=options, release=release
    )
    return StateTable(batch, (ranges[0], down), (ranges[1], across) if across is not None else None, single)


def materials_table(reader: Reader, *, options: Options = SI, release: ReleaseInfo | None = None) -> list[MaterialLine]:
    """Every material that has a speed or a density: both speeds, density, their uncertainties, slopes, rows, sources.

    A property that nobody published is null, unless estimates are accepted.
    """
    release = release or reader.release()
    lines: list[MaterialLine] = []
    for record in reader.store.of_kind("subject", release):
        if record.body["subject_kind"] != "material":
            continue
        fast, slow, density = (_found(reader, record.id, name, options, release) for name in MATERIAL_PROPERTIES)
        found = [answer for answer in (fast, slow, density) if answer is not None]
        if found:
            lines.append(
                {
                    "id": record.id,
                    "name": record.body["name"],
                    "family": record.body["family"],
                    "longitudinal_speed": _cell(fast),
                    "shear_speed": _cell(slow),
                    "density": _cell(density),
                    "sources": sorted({source["key"] for answer in found for source in answer.sources}),
                }
            )
    return lines


def _found(reader: Reader, subject: str, property_id: str, options: Options, release: ReleaseInfo) -> Answer | None:
    try:
        return values_at(reader, subject, [property_id], state=State(), options=options, release=release)[property_id]
    except NotAvailable:
        return None


def _cell(found: Answer | None) -> MaterialCell | None:
    if found is None:
        return None
    limits = found.limits
    return {
        "value": significant(found.magnitude) if limits is None else None,
        "standard_uncertainty": significant(found.standard_uncertainty.magnitude, 3) if limits is None else None,
        "limits": limits and (significant(limits[0].magnitude, 4), significant(limits[1].magnitude, 4)),
        "unit": found.unit,
        "slope": significant(found.slopes["temperature"], 4) if found.slopes.get("temperature") else None,
        "rung": found.text.row.body["rung"],
        "row": {"id": found.row, "digest": found.digest},
    }
