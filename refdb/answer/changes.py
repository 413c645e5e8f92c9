"""What changed between two releases, and by how much recommended values moved."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.lookup.evaluate import PreparedRow
from refdb.lookup.state import State
from refdb.problems import BadParameter, Problem
from refdb.units import significant

STATES = 25
TOLD = ("kind", "subject", "property")


def changes(store: ReleaseStore, since: ReleaseInfo, release: ReleaseInfo) -> dict[str, Any]:
    """The difference from one release to a later one.

    Returns:
        `added` and `withdrawn` rows; `corrected` records other than recommended values, with the fields that changed;
        `moved` recommended values, the largest move in units of the old standard uncertainty first.

    Raises:
        BadParameter: the second release is not later than the first.
    """
    if since.ordinal >= release.ordinal:
        raise BadParameter(
            f"since: {since.label} is not older than {release.label}; name the older release first.",
            parameter="since",
            given=since.label,
        )
    old, new = (_records(store, which) for which in (since, release))
    both = [(old[row], new[row]) for row in sorted(old.keys() & new.keys()) if old[row].digest != new[row].digest]
    moved = [_moved(*pair) for pair in both if pair[0].body["kind"] == "recommended"]
    parts: dict[str, list[dict[str, Any]]] = {
        "added": [_told(new[row]) for row in sorted(new.keys() - old.keys())],
        "withdrawn": [_told(old[row]) for row in sorted(old.keys() - new.keys())],
        "corrected": [_corrected(*pair) for pair in both if pair[0].body["kind"] != "recommended"],
        "moved": sorted(moved, key=lambda entry: -abs(entry["move_in_uncertainties"] or 0.0)),
    }
    counts = {name: len(entries) for name, entries in parts.items()}
    return {"from": since.label, "to": release.label, "counts": counts, **parts}


def _records(store: ReleaseStore, release: ReleaseInfo) -> dict[str, StoredRecord]:
    return {record.id: record for record in store.all(release)}


def _told(record: StoredRecord) -> dict[str, Any]:
    return {"row": record.id, **{key: record.body[key] for key in TOLD if key in record.body}}


def _corrected(old: StoredRecord, new: StoredRecord) -> dict[str, Any]:
    fields = [
        {"field": key, "old": old.body.get(key), "new": new.body.get(key)}
        for key in sorted(old.body.keys() | new.body.keys())
        if old.body.get(key) != new.body.get(key)
    ]
    return {**_told(new), "fields": fields}


def _moved(old: StoredRecord, new: StoredRecord) -> dict[str, Any]:
    """The largest move over the temperatures that both versions answer at, at 1 atm."""
    entry: dict[str, Any] = {**_told(new), "unit": new.body["unit"], "why": list(_why(old.body, new.body))}
    compared = list(_compared(PreparedRow(old), PreparedRow(new)))
    if not compared or old.body["unit"] != new.body["unit"]:
        empty = dict.fromkeys(("temperature", "old", "new", "move", "move_in_uncertainties"))
        return {**entry, **empty, "why": [*entry["why"], "the two versions have no state in common"]}
    celsius, before, after = max(compared, key=lambda found: abs(found[2][0] - found[1][0]) / found[1][1])
    move = after[0] - before[0]
    return {
        **entry,
        "temperature": {"magnitude": significant(celsius), "unit": "degC", "ucum": "Cel"},
        "old": {"value": significant(before[0]), "standard_uncertainty": significant(before[1])},
        "new": {"value": significant(after[0]), "standard_uncertainty": significant(after[1])},
        "move": significant(move),
        "move_in_uncertainties": significant(move / before[1], 4),
    }


def _compared(old: PreparedRow, new: PreparedRow) -> Iterator[tuple[float, tuple[float, float], tuple[float, float]]]:
    """Temperature, and value with standard uncertainty of both versions, where both can be evaluated."""
    if old.temperature is None or new.temperature is None:
        return
    low, high = max(old.temperature.low, new.temperature.low), min(old.temperature.high, new.temperature.high)
    for step in range(STATES if high > low else 0):
        celsius = low + (high - low) * step / (STATES - 1)
        try:
            found = [row.evaluate(State(celsius=celsius), needs_temperature=False) for row in (old, new)]
        except Problem:
            continue
        before, after = ((float(one.value), float(one.standard_uncertainty)) for one in found)
        yield celsius, before, after


def _why(old: dict[str, Any], new: dict[str, Any]) -> Iterator[str]:
    if old["rule"] != new["rule"]:
        yield f"rule {old['rule']} became {new['rule']}"
    before, after = ({entry["id"]: entry["digest"] for entry in body["inputs"]} for body in (old, new))
    for words, rows in (
        ("went in newly", sorted(after.keys() - before.keys())),
        ("no longer goes in", sorted(before.keys() - after.keys())),
        ("was itself corrected", sorted(row for row in before.keys() & after.keys() if before[row] != after[row])),
    ):
        yield from (f"{row} {words}" for row in rows)
    for key in ("domain", "uncertainty", "form"):
        if old[key] != new[key]:
            yield f"its {key} changed"
