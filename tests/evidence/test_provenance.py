"""Walking any answer back to a document, a place in it, and how it was seen."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice
from typing import Any

import pytest

from refdb.database import Database
from refdb.problems import UnknownName


def _leaves(step: dict[str, Any]) -> Iterator[dict[str, Any]]:
    if "inputs" in step:
        for entry in step["inputs"]:
            yield from _leaves(entry)
    else:
        yield step


@pytest.mark.parametrize("row", ["water.sound_speed", "carbon-steel.longitudinal_speed", "stainless-316l.shear_speed"])
def test_a_row_walks_to_source_locator_basis_and_seen(database: Database, row: str) -> None:
    leaves = list(_leaves(database.provenance(row)["chain"]))
    assert leaves
    for leaf in leaves:
        assert leaf["source"]["citation"]
        assert leaf["locator"]
        assert leaf["basis"] in {"measured", "standard", "evaluated", "computed"}
        assert leaf["seen"] in {"original", "archive", "reproduction", "library"}
        assert leaf["printed"]["unit"]


@pytest.mark.parametrize("every", [29, pytest.param(1, marks=pytest.mark.long)])
def test_every_recommended_row_walks_to_a_document(database: Database, every: int) -> None:
    release = database.release()
    for kind in ("recommended", "recommended-pipe", "recommended-roughness"):
        for record in islice(database.store.of_kind(kind, release), 0, None, every):
            for leaf in _leaves(database.provenance(record.id)["chain"]):
                assert leaf["source"]["key"], record.id


def test_steel_shows_which_readings_went_in_and_how_far_apart_they_were(database: Database) -> None:
    chain = database.provenance("carbon-steel.longitudinal_speed")["chain"]
    assert len(chain["inputs"]) >= 3
    assert float(chain["working"]["lowest"]) < float(chain["working"]["highest"])
    assert float(chain["working"]["between_sources"]) >= 0
    # What a speed was computed with, and its temperature slope, go in without a weight.
    weights = [float(entry["weight"]) for entry in chain["inputs"] if "weight" in entry]
    assert len(weights) >= 3
    assert sum(weights) == pytest.approx(1.0, abs=1e-4)


def test_steel_shows_what_was_left_out_and_why(database: Database) -> None:
    left_out = database.provenance("carbon-steel.longitudinal_speed")["chain"]["left_out"]
    reasons = " ".join(entry["reason"] for entry in left_out)
    assert "wrong-kind" in reasons
    assert "which gives way to" in reasons
    copied = database.provenance("lead.longitudinal_speed")["chain"]["left_out"]
    assert any("shares its origin" in entry["reason"] for entry in copied)


def test_the_rule_says_what_it_does_and_where_it_is_published(database: Database) -> None:
    rule = database.provenance("carbon-steel.longitudinal_speed")["chain"]["rule"]
    assert rule["name"] == "consensus/4"
    assert "consensus/3" in rule["method"]
    assert "Higgins" in rule["published"]


def test_a_source_knows_what_rests_on_it(database: Database) -> None:
    resting = database.provenance("marczak-1997")["rests_on_this"]
    assert {"row": "water.sound_speed.03", "as": "source"} in resting
    assert {"row": "water.sound_speed", "as": "input"} in database.provenance("water.sound_speed.03")["rests_on_this"]


def test_the_history_of_a_row_names_its_releases(database: Database) -> None:
    versions = database.history("water.sound_speed")["versions"]
    assert versions[0]["since"] == "2026r1"
    assert versions[-1]["digest"] == database.row("water.sound_speed")["row"]["digest"]


def test_a_row_that_never_was_is_refused(database: Database) -> None:
    for ask in (database.row, database.provenance, database.history):
        with pytest.raises(UnknownName):
            ask("water.taste")
