"""What a release holds of each pipe system: rows, sizes, rights; memory counts apart."""

from __future__ import annotations

from refdb.database import Database
from refdb.pipes.coverage import coverage
from refdb.vocabulary import systems


def test_every_system_is_told_and_memory_counts_in_no_figure(pending: Database) -> None:
    told = {entry["system"]: entry for entry in coverage(pending.store, pending.release())}
    assert set(told) == set(systems())
    assert (told["asme-bpe"]["rows"], told["asme-bpe"]["sizes"], told["asme-bpe"]["recalled"]) == (0, 0, 11)
    assert told["asme-bpe"]["rights"] == []
    assert told["b36.10"]["rows"] == 772
    assert told["b36.10"]["sizes"] == 44
    for entry in told.values():
        assert entry["complete"]
        assert (entry["rows"] == 0) == (entry["rights"] == [])


def test_no_figure_but_recalled_ones_stands_for_a_system_known_from_memory(pending: Database) -> None:
    for entry in coverage(pending.store, pending.release()):
        if entry["rows"] == 0:
            assert entry["recalled"] > 0
            assert entry["complete"].startswith("From memory only")
