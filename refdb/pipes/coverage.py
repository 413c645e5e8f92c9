"""How much of each pipe system a release holds, and under which rights."""

from __future__ import annotations

from typing import TYPE_CHECKING

from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.vocabulary import systems

if TYPE_CHECKING:
    from refdb.pipes.documents import CoverageDocument


def coverage(store: ReleaseStore, release: ReleaseInfo) -> list[CoverageDocument]:
    """For each system: rows and sizes somebody saw printed, rows that are only recalled, standard, part, rights.

    What is only recalled counts neither as a row nor as a size.
    """
    by_system: dict[str, list[StoredRecord]] = {system_id: [] for system_id in systems()}
    for record in store.of_kind("recommended-pipe", release):
        by_system[record.body["system"]].append(record)
    return [_of_system(store, release, system_id, members) for system_id, members in by_system.items()]


def _of_system(
    store: ReleaseStore, release: ReleaseInfo, system_id: str, members: list[StoredRecord]
) -> CoverageDocument:
    definition = systems()[system_id]
    seen = [record for record in members if record.body["rung"] != "memory"]
    sources = {entry["id"]: None for record in seen for entry in record.body["inputs"]}
    return {
        "system": system_id,
        "name": definition["name"],
        "standard": definition["standard"],
        "edition": definition["edition"],
        "rows": len(seen),
        "sizes": len({tuple(sorted(record.body["size"].items())) for record in seen}),
        "recalled": len(members) - len(seen),
        "complete": definition["complete"],
        "rights": sorted(_rights(store, release, list(sources))),
    }


def _rights(store: ReleaseStore, release: ReleaseInfo, readings: list[str]) -> set[str]:
    keys = {record.body["source"] for row in readings if (record := store.record(row, release)) is not None}
    return {record.body["rights"] for key in keys if (record := store.record(key, release)) is not None}
