"""How a release was derived stands beside it, and the next one computes only what has changed."""

from __future__ import annotations

import datetime
import json
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from refdb.problems import BadParameter
from refdb.records import digest
from refdb.records.names import names_of
from refdb.records.rules import RULES
from refdb.release import Draft, cut_release, draft_release
from refdb.release.text import full_records, read_releases
from tests.conftest import PROJECT, CommandLine
from tests.invented import READINGS_HEADER, SECOND_READINGS, write_document

DAY = datetime.date(2026, 1, 2)


def _lines(text: Path, label: str) -> dict[str, dict[str, Any]]:
    lines = (text / "sources" / "releases" / label / "derivation.jsonl").read_text().splitlines()
    return {entry["step"]: entry for entry in map(json.loads, lines)}


def test_every_step_names_its_rules_what_it_rests_on_and_the_rows_it_made(invented_text: Path) -> None:
    cut_release(invented_text, "2026r1", "The first.", DAY)
    step = _lines(invented_text, "2026r1")["published invented-metal.density"]
    row = full_records(read_releases(invented_text))["invented-metal.density"]
    assert set(step["rests_on"]["rules"].split()) <= RULES.keys()
    assert {"policy", "records", "units"} <= step["rests_on"].keys()
    assert step["made"] == {"invented-metal.density": digest(row)}


def test_a_release_holds_the_steps_that_changed_and_names_those_that_are_gone(invented_text: Path) -> None:
    write_document(invented_text, "second-article", READINGS_HEADER + SECOND_READINGS)
    cut_release(invented_text, "2026r1", "The first.", DAY)
    equations = invented_text / "sources" / "documents" / "read" / "first-article" / "equations.toml"
    equations.unlink()
    rules = invented_text / "sources" / "rules" / "invented.toml"
    rules.write_text(rules.read_text().split("[[reference]]")[0])
    cut_release(invented_text, "2026r2", "Without the equation.", DAY)
    changed = _lines(invented_text, "2026r2")
    assert changed["published invented-liquid.sound_speed"] == {"step": "published invented-liquid.sound_speed"}
    assert "published invented-metal.density" not in changed
    assert draft_release(invented_text).computed == 0


def test_a_draft_of_an_unchanged_text_computes_nothing_and_cannot_be_cut(invented_text: Path) -> None:
    cut_release(invented_text, "2026r1", "The first.", DAY)
    draft = draft_release(invented_text)
    assert draft.computed == 0
    assert not draft.changes
    with pytest.raises(BadParameter, match="nothing has changed"):
        cut_release(invented_text, "2026r2", "Nothing.", DAY)


def test_a_release_tells_what_it_was_made_with(invented_text: Path) -> None:
    cut_release(invented_text, "2026r1", "The first.", DAY)
    header = tomllib.loads((invented_text / "sources" / "releases" / "2026r1" / "release.toml").read_text())
    made_with = header["made_with"]
    assert {"refdb", "python", "mpmath", "numpy", "pint", "pydantic", "commit", "rules", "policies"} <= made_with.keys()
    rules = invented_text / "sources" / "rules" / "invented.toml"
    rules.write_text(rules.read_text() + "\n# a comment is part of the text\n")
    write_document(invented_text, "second-article", READINGS_HEADER + SECOND_READINGS)
    cut_release(invented_text, "2026r2", "The second.", DAY)
    header = tomllib.loads((invented_text / "sources" / "releases" / "2026r2" / "release.toml").read_text())
    assert header["made_with"]["policies"] != made_with["policies"]
    assert header["made_with"]["rules"] == made_with["rules"]


def test_a_cut_says_what_moves_in_uncertainties_before_it_writes(invented_text: Path, command: CommandLine) -> None:
    cut_release(invented_text, "2026r1", "The first.", DAY)
    write_document(invented_text, "second-article", READINGS_HEADER + SECOND_READINGS)
    arguments = ("--note", "The second.", "--text", str(invented_text), "--to", str(invented_text / "compiled"))
    preview = command("release", "cut", "2026r2", *arguments, "--preview")
    assert preview.code == 0
    assert "invented-metal.longitudinal_speed" in preview.out
    assert "of its uncertainties" in preview.out
    assert "Nothing was written" in preview.out
    assert not (invented_text / "sources" / "releases" / "2026r2").exists()
    cut = command("release", "cut", "2026r2", *arguments)
    assert cut.out.startswith(preview.out.split("Nothing was written")[0])
    assert (invented_text / "sources" / "releases" / "2026r2").is_dir()


def test_the_code_changes_no_row_whose_rule_keeps_its_version(afresh: Draft) -> None:
    """Computed from scratch, what rests on what it rested on is what the newest release holds, to the last digit."""
    same = {name: step for name, step in afresh.old_steps.items() if _rests_on(afresh, name) == step.rests_on}
    moved = [name for name, step in same.items() if afresh.steps[name].made != step.made]
    assert moved == [], "write the next version of the rule, and cut a release with it"
    assert len(same) > 0.5 * len(afresh.steps)


def _rests_on(draft: Draft, name: str) -> Mapping[str, str] | None:
    step = draft.steps.get(name)
    return step.rests_on if step is not None else None


def test_every_input_of_the_newest_release_names_a_version_that_the_release_holds() -> None:
    records = full_records(read_releases(PROJECT))
    digests = {row: digest(record) for row, record in records.items()}
    named = [(row, entry) for row, record in records.items() for entry in record.get("inputs", ()) if "id" in entry]
    assert len(named) > 10_000
    assert [row for row, entry in named if digests[entry["id"]] != entry["digest"]] == []


def test_the_names_of_a_record_do_not_hang_on_the_order_of_its_parts() -> None:
    """A record has one order when it is derived and another when it is read from a release."""
    record = {"kind": "recommended-pipe", "id": "a", "system": "b36.10", "designations": ["40"]}
    one, other = ({**record, "size": size} for size in ({"NPS": "8", "DN": "200"}, {"DN": "200", "NPS": "8"}))
    assert names_of(one) == names_of(other)
