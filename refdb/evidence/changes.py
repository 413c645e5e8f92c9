"""What changed between two releases, and by how much recommended values moved."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Generic, Literal, TypeVar, get_args

from refdb.evidence.counts import counts_of
from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.lookup.evaluate import PreparedRow
from refdb.lookup.state import State
from refdb.problems import BadParameter, Problem, UnknownName
from refdb.records import digest, printed_number
from refdb.units import Unit, significant, units
from refdb.values.states import shared_states, spans_of, state_document, why_not_comparable
from refdb.vocabulary import properties

if TYPE_CHECKING:
    from refdb.evidence.documents import (
        ChangedField,
        ChangedParts,
        ChangedRow,
        ChangesDocument,
        CorrectedRow,
        Dimension,
        MovedDimension,
        MovedPipe,
        MovedRoughness,
        MovedValue,
        RoughnessVersion,
        WithdrawnRow,
        WithdrawnSource,
    )
    from refdb.values.documents import UncertainValue


Told = Literal["subject", "property", "condition", "system", "size", "designations", "surface"]
TOLD: tuple[Told, ...] = get_args(Told)
"""What is told of a row that changed, as far as its kind has it."""

TOLD_AS_CHANGED = ("domain", "uncertainty", "form", "size", "designations", "basis", "seen", "rung")
DIMENSIONS: tuple[Dimension, ...] = ("outside_diameter", "wall")
MEASURED = ("recommended", "recommended-pipe", "recommended-roughness")
"""Kinds of rows of which it is told how far they moved."""

NO_MEASURE = "the old value has no uncertainty to measure the move by"

Entry = TypeVar("Entry")


def changes(store: ReleaseStore, release: ReleaseInfo, since: str | None) -> ChangesDocument:
    """The difference from an older release to a later one.

    Args:
        since: the label of the older release; the one before `release` by default.

    Returns:
        `withdrawn_sources`; `added` and `withdrawn` rows; `corrected` records that recommend nothing, with the fields
        that changed;
        `moved` recommended values, the largest move in units of the old standard uncertainty first; `moved_pipes` and
        `moved_roughness`, the largest relative change first.

    Raises:
        UnknownName: no release is called `since`.
        BadParameter: that release is not older than `release`, or there is none before it.
    """
    older = _older(store, release, since)
    old, new = ({record.id: record for record in store.all(which)} for which in (older, release))
    return compared(older.label, release.label, old, new)


def unreleased(record: Mapping[str, Any]) -> StoredRecord:
    """A record of the text as if a store held it, to be compared with released ones."""
    return StoredRecord(record["id"], digest(record), 0, None, dict(record))


def compared(
    old_label: str, new_label: str, old: Mapping[str, StoredRecord], new: Mapping[str, StoredRecord]
) -> ChangesDocument:
    """The difference between two lists of records, by id; the parts are those of `changes`."""
    pairs = [(old[row], new[row]) for row in sorted(old.keys() & new.keys()) if old[row].digest != new[row].digest]
    by_kind: dict[str, list[tuple[StoredRecord, StoredRecord]]] = defaultdict(list)
    for before, after in pairs:
        kind = after.body["kind"]
        by_kind[kind if kind == before.body["kind"] and kind in MEASURED else ""].append((before, after))
    parts: ChangedParts = {
        "added": [_told(new[row]) for row in sorted(new.keys() - old.keys())],
        "withdrawn": [_gone(old[row], new) for row in sorted(old.keys() - new.keys())],
        "corrected": [_corrected(*pair) for pair in by_kind[""]],
        "moved": _largest_first([_moved_value(*pair) for pair in by_kind["recommended"]]),
        "moved_pipes": _largest_first([_moved_pipe(*pair) for pair in by_kind["recommended-pipe"]]),
        "moved_roughness": _largest_first([_moved_roughness(*pair) for pair in by_kind["recommended-roughness"]]),
    }
    return {
        "from": old_label,
        "to": new_label,
        "counts": counts_of(parts),
        "withdrawn_sources": _withdrawn_sources(pairs),
        **parts,
    }


def _withdrawn_sources(pairs: Iterable[tuple[StoredRecord, StoredRecord]]) -> list[WithdrawnSource]:
    """The documents that were withdrawn since the older release, and why."""
    return [
        {"key": after.id, "on": after.body["withdrawn"]["on"], "reason": after.body["withdrawn"]["reason"]}
        for before, after in pairs
        if after.body["kind"] == "source" and "withdrawn" in after.body and "withdrawn" not in before.body
    ]


def _older(store: ReleaseStore, release: ReleaseInfo, since: str | None) -> ReleaseInfo:
    labels = {known.label: known for known in store.releases}
    if since is None:
        if release.ordinal == 1:
            raise BadParameter(
                f"since: {release.label} is the first release; there is none before it.", parameter="since"
            )
        return store.releases[release.ordinal - 2]
    if since not in labels:
        raise UnknownName(
            f"since: there is no release '{since}'; there are {', '.join(labels)}.",
            parameter="since",
            given=since,
            candidates=list(labels),
        )
    if labels[since].ordinal >= release.ordinal:
        raise BadParameter(
            f"since: {since} is not older than {release.label}; name the older release first.",
            parameter="since",
            given=since,
        )
    return labels[since]


def _told(record: StoredRecord) -> ChangedRow:
    told: ChangedRow = {"row": record.id, "kind": record.body["kind"]}
    for key in TOLD:
        if key in record.body:
            told[key] = record.body[key]
    return told


def _gone(old: StoredRecord, new: Mapping[str, StoredRecord]) -> WithdrawnRow:
    """A row that is withdrawn, and what became of what it rested on."""
    why: list[str] = []
    for entry in old.body.get("inputs", []):
        record = new.get(entry["id"])
        if record is None:
            why.append(f"{entry['id']} is withdrawn too")
        why += [
            f"{entry['id']} is {flag['code']}: {flag['text']}"
            for flag in (record.body.get("flags", []) if record is not None else [])
            if flag["code"] != "note"
        ]
    return {**_told(old), "why": why}


def _corrected(old: StoredRecord, new: StoredRecord) -> CorrectedRow:
    fields: list[ChangedField] = [
        {"field": key, "old": old.body.get(key), "new": new.body.get(key)}
        for key in sorted(old.body.keys() | new.body.keys())
        if old.body.get(key) != new.body.get(key)
    ]
    return {**_told(new), "fields": fields}


@dataclass(frozen=True, slots=True)
class _Moved(Generic[Entry]):
    """A recommended row that changed, and how far it moved; None where its versions cannot be compared."""

    entry: Entry
    size: float | None


def _largest_first(moved: list[_Moved[Entry]]) -> list[Entry]:
    ordered = sorted(moved, key=lambda one: math.inf if one.size is None else -one.size)
    return [one.entry for one in ordered]


@dataclass(frozen=True, slots=True)
class _Pair:
    """Both versions of a value with their standard uncertainties at one state, in the newer one's unit."""

    state: State
    old: float
    old_uncertainty: float
    new: float
    new_uncertainty: float

    @property
    def move(self) -> float:
        return self.new - self.old

    @property
    def in_uncertainties(self) -> float:
        """The move in units of the old standard uncertainty; infinite where that is zero and there is a move."""
        if self.old_uncertainty > 0.0:
            return abs(self.move) / self.old_uncertainty
        return math.inf if self.move else 0.0


def _moved_value(old: StoredRecord, new: StoredRecord) -> _Moved[MovedValue]:
    """The largest move over the states that both versions answer at: at 1 atm, or at saturation where that boils."""
    why = list(why_changed(old.body, new.body))
    pairs: list[_Pair] = []
    try:
        before, after = PreparedRow(old), PreparedRow(new)
        fault = why_not_comparable(spans_of(before), spans_of(after))
        pairs = list(_pairs(before, after))
    except Problem as problem:
        fault = problem.detail
    if not pairs:
        why.append(f"not comparable: {fault or 'the two versions have no state in common'}")
        unmoved: MovedValue = {
            **_told(new),
            "unit": new.body["unit"],
            "why": why,
            "state": None,
            "old": None,
            "new": None,
            "move": None,
            "move_in_uncertainties": None,
        }
        return _Moved(unmoved, None)
    largest = max(pairs, key=lambda pair: (pair.in_uncertainties, abs(pair.move)))
    measured = largest.old_uncertainty > 0.0
    if not measured:
        why.append(NO_MEASURE)
    entry: MovedValue = {
        **_told(new),
        "unit": new.body["unit"],
        "why": why,
        "state": state_document(largest.state),
        "old": _with_uncertainty(largest.old, largest.old_uncertainty),
        "new": _with_uncertainty(largest.new, largest.new_uncertainty),
        "move": significant(largest.move),
        "move_in_uncertainties": significant(largest.move / largest.old_uncertainty, 4) if measured else None,
    }
    return _Moved(entry, largest.in_uncertainties)


def _pairs(old: PreparedRow, new: PreparedRow) -> Iterator[_Pair]:
    for state in shared_states(spans_of(old), spans_of(new), (old, new)):
        try:
            before, after = (row.evaluate(state, needs_temperature=False) for row in (old, new))
        except Problem:
            # The liquid boils or is frozen there in one of the versions.
            continue
        yield _Pair(
            state,
            float(old.unit.to(float(before.value), new.unit)),
            float(old.unit.difference_to(float(before.standard_uncertainty), new.unit)),
            float(after.value),
            float(after.standard_uncertainty),
        )


def _with_uncertainty(value: float, uncertainty: float) -> UncertainValue:
    return {"value": significant(value), "standard_uncertainty": significant(uncertainty)}


def _moved_pipe(old: StoredRecord, new: StoredRecord) -> _Moved[MovedPipe]:
    """Both dimensions in every unit that either version prints, as printed; the nominal wall before a least one."""
    printed = [{entry["unit"]: entry for entry in reversed(record.body["dimensions"])} for record in (old, new)]
    dimensions = [
        _dimension(unit, name, *(entries.get(unit, {}).get(name) for entries in printed))
        for unit in sorted(printed[0].keys() | printed[1].keys())
        for name in DIMENSIONS
    ]
    entry: MovedPipe = {**_told(new), "dimensions": dimensions, "why": list(why_changed(old.body, new.body))}
    relative = [
        abs(one["move"]) / printed_number(one["old"])
        for one in dimensions
        if one["move"] is not None and one["old"] is not None
    ]
    return _Moved(entry, max(relative, default=None))


def _dimension(unit: str, name: Dimension, old: str | None, new: str | None) -> MovedDimension:
    move = None if old is None or new is None else significant(printed_number(new) - printed_number(old))
    return {"dimension": name, "unit": unit, "old": old, "new": new, "move": move}


def _moved_roughness(old: StoredRecord, new: StoredRecord) -> _Moved[MovedRoughness]:
    """The central values and printed ranges, in the newer version's unit, and the ratio of the central values."""
    own, unit = (units().find(record.body["unit"], properties()["roughness"]["dimension"]) for record in (old, new))
    before, after = _roughness(old, own, unit), _roughness(new, unit, unit)
    why = list(why_changed(old.body, new.body))
    ratio = after["value"] / before["value"] if before["value"] else None
    if ratio is None:
        why.append("the old roughness is zero, so there is no ratio")
    entry: MovedRoughness = {
        **_told(new),
        "unit": unit.symbol,
        "old": before,
        "new": after,
        "move": significant(after["value"] - before["value"]),
        "ratio": significant(ratio, 4) if ratio is not None else None,
        "why": why,
    }
    return _Moved(entry, abs(math.log(ratio)) if ratio else math.inf)


def _roughness(record: StoredRecord, own: Unit, unit: Unit) -> RoughnessVersion:
    body = record.body
    ends = [significant(own.to(printed_number(body[key]), unit)) for key in ("low", "high") if key in body]
    return {"value": significant(own.to(printed_number(body["number"]), unit)), "range": ends or None}


def why_changed(old: dict[str, Any], new: dict[str, Any]) -> Iterator[str]:
    """What is different in the making of two versions of a recommended row, in phrases."""
    if old["rule"] != new["rule"]:
        yield f"rule {old['rule']} became {new['rule']}"
    if old.get("unit") != new.get("unit"):
        yield f"unit {old['unit']} became {new['unit']}"
    before, after = ({entry["id"]: entry["digest"] for entry in body["inputs"]} for body in (old, new))
    left_out = {entry["id"]: f": {entry['reason']}" for entry in new.get("left_out", [])}
    for words, rows in (
        ("went in newly", sorted(after.keys() - before.keys())),
        ("no longer goes in", sorted(before.keys() - after.keys())),
        ("was itself corrected", sorted(row for row in before.keys() & after.keys() if before[row] != after[row])),
    ):
        yield from (f"{row} {words}{left_out.get(row, '')}" for row in rows)
    for key in TOLD_AS_CHANGED:
        if old.get(key) != new.get(key):
            yield f"its {key} changed"
