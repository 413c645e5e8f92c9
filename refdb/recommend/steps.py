"""Steps of derivation: what each rests on, and which of them a release has answered already.

A step makes rows that belong together: those of one property of one subject, or those of one family. It rests on
rules, on entries of the policy, on records of the ledger, on rows of earlier steps and on figures that were computed
of the whole ledger. Where all of these are what they were when the newest release was cut, the rows are that
release's, byte for byte, and nothing is computed.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, is_dataclass
from typing import Any, TypeVar

from pydantic import BaseModel

from refdb.records import canonical, digest
from refdb.records.models import RECORD, AnyRecord, Envelope, Grid, Recommended
from refdb.records.rules import Rule
from refdb.units import UnitTable

Row = TypeVar("Row", bound=Recommended)
Plain = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Reads:
    """What a step reads.

    Attributes:
        rules: those that it may follow.
        policy: the entries of `sources/rules` that it may follow.
        records: readings, their sources and subjects, and whatever else of the ledger.
        rows: of earlier steps.
        computed: figures of the whole ledger, by name, as plain JSON values.
    """

    rules: Sequence[Rule]
    policy: Sequence[Any] = ()
    records: Iterable[Envelope] = ()
    rows: Iterable[Recommended] = ()
    computed: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Step:
    """What a step rested on and what it made.

    Attributes:
        rests_on: `rules` by name and version; the digests of the `policy`, `records`, `rows` and `computed` that it
            read.
        made: the ids and digests of its rows.
    """

    rests_on: Mapping[str, str]
    made: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Earlier:
    """What a release knows: its steps by name, and every record by id."""

    steps: Mapping[str, Step] = field(default_factory=dict)
    records: Mapping[str, Plain] = field(default_factory=dict)


class Steps:
    """Takes steps, or takes their rows from an earlier release.

    Args:
        ledger: every record, by id.
        table: the units, whose factors a step rests on where its records name them.
        earlier: what may be carried forward.

    Attributes:
        taken: every step so far, by name.
        derived: the names of those that were computed.
    """

    def __init__(self, ledger: Mapping[str, AnyRecord], table: UnitTable, earlier: Earlier) -> None:
        self._ledger = ledger
        self._table = table
        self._earlier = earlier
        self._digests: dict[str, tuple[Envelope, str]] = {}
        self._units: dict[str, str] = {}
        self.taken: dict[str, Step] = {}
        self.derived: list[str] = []

    def values(self, name: str, reads: Reads, make: Callable[[], Iterable[Row]], kind: type[Row]) -> list[Row]:
        """The rows of a step that later steps read.

        Args:
            name: of the step; the same from release to release.
            make: computes the rows, from nothing but what `reads` names.
            kind: of the rows.
        """
        rests_on = self._rests_on(reads)
        carried = self._carried(name, rests_on)
        if carried is not None:
            return [row for plain in carried if isinstance(row := RECORD.validate_python(plain), kind)]
        rows = list(make())
        self._note(name, rests_on, {row.id: self._digest(row) for row in rows})
        return rows

    def printed(self, name: str, reads: Reads, make: Callable[[], Iterable[Recommended]]) -> list[Plain]:
        """The rows, in their plain form, of a step that no other reads."""
        rests_on = self._rests_on(reads)
        carried = self._carried(name, rests_on)
        if carried is not None:
            return carried
        rows = [row.plain() for row in make()]
        self._note(name, rests_on, {row["id"]: digest(row) for row in rows})
        return rows

    def _note(self, name: str, rests_on: Mapping[str, str], made: Mapping[str, str]) -> None:
        self.taken[name] = Step(rests_on, made)
        self.derived.append(name)

    def _carried(self, name: str, rests_on: Mapping[str, str]) -> list[Plain] | None:
        """The rows of the same step of the earlier release; None where it rests on anything else by now."""
        step = self._earlier.steps.get(name)
        if step is None or step.rests_on != rests_on:
            return None
        rows = [self._earlier.records.get(row) for row in step.made]
        # A row that gave way to a better one was not released, and has to be made again.
        found = [row for row in rows if row is not None and digest(row) == step.made[row["id"]]]
        if len(found) < len(rows):
            return None
        self.taken[name] = step
        return found

    def _rests_on(self, reads: Reads) -> dict[str, str]:
        records = {record.id: record for record in reads.records}
        parts: dict[str, Any] = {
            "policy": [_plain(entry) for entry in reads.policy],
            "records": sorted((row, self._digest(record)) for row, record in self._with_grids(records).items()),
            "rows": sorted((row.id, self._digest(row)) for row in reads.rows),
            "computed": dict(reads.computed),
        }
        units = sorted({self._unit_factors(record) for record in records.values()})
        if units:
            parts["units"] = units
        names = " ".join(rule.name for rule in reads.rules)
        return {"rules": names} | {part: _digest_of(value) for part, value in parts.items() if value}

    def _with_grids(self, records: Mapping[str, Envelope]) -> dict[str, Envelope]:
        """The records and the grids that they name: where a liquid boils and where it freezes."""
        found: dict[str, Envelope] = {}
        left = list(records.values())
        while left:
            record = left.pop()
            found[record.id] = record
            named = (record.saturation, record.freezing) if isinstance(record, Grid) else ()
            left += [self._ledger[row] for row in named if row is not None and row not in found]
        return found

    def _digest(self, record: Envelope) -> str:
        """The digest of a record or row, taken once."""
        known = self._digests.get(record.id)
        if known is None or known[0] is not record:
            known = self._digests[record.id] = (record, digest(record.plain()))
        return known[1]

    def _unit_factors(self, record: Envelope) -> str:
        """The factors of the units that a record names, as text."""
        if record.id not in self._units:
            named = sorted(set(_units_in(record.plain())))
            self._units[record.id] = " ".join(
                f"{name}={unit.scale!r},{unit.offset!r},{unit.function}"
                for name in named
                for unit in self._table.spelled(name)
            )
        return self._units[record.id]


def _units_in(plain: Any) -> Iterator[str]:
    if isinstance(plain, dict):
        for key, part in plain.items():
            if key == "unit" and isinstance(part, str):
                yield part
            else:
                yield from _units_in(part)
    elif isinstance(plain, list):
        for part in plain:
            yield from _units_in(part)


def _plain(entry: Any) -> Any:
    """An entry of the policy as plain JSON values."""
    if isinstance(entry, BaseModel):
        return entry.model_dump(mode="json", exclude_none=True)
    if is_dataclass(entry):
        return {part.name: _plain(getattr(entry, part.name)) for part in fields(entry)}
    return entry


def _digest_of(value: Any) -> str:
    return "sha256:" + hashlib.sha256(canonical({"": value})).hexdigest()
