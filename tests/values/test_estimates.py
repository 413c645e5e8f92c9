"""Estimates from a family: refused unless accepted, marked when given, traced like any row, and no evidence."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from refdb.data import current
from refdb.database import Database
from refdb.lookup import ReleaseStore
from refdb.lookup.state import read_state
from refdb.problems import NotAvailable
from refdb.release import build, cut_release
from refdb.values.options import Options
from refdb.values.reader import Reader
from refdb.values.table import materials_table
from tests.invented import READINGS_HEADER, follow_second_rule, write_document
from tests.shapes import untyped

ROW = "invented-metal.shear_speed"
ESTIMATES = Options(estimates=True)


@pytest.fixture
def estimating(invented_text: Path, tmp_path: Path) -> Database:
    """A release in which the invented metal has no shear speed, and four members of its family have one."""
    follow_second_rule(invented_text)
    speeds = {"red": "3000", "green": "3100", "blue": "3050", "white": "3020"}
    subjects = invented_text / "shared" / "subjects" / "invented.toml"
    blocks = [
        f'\n[{name}-metal]\nname = "{name} metal"\nsubject_kind = "material"\nfamily = "other-metal"\n'
        for name in speeds
    ]
    subjects.write_text(subjects.read_text() + "".join(blocks))
    rows = [
        f"{name}-metal.shear_speed.01,{name}-metal,shear_speed,{speed},,,m/s,20 degC,p. 1,,\n"
        for name, speed in speeds.items()
    ]
    write_document(invented_text, "family", READINGS_HEADER + "".join(rows))
    cut_release(invented_text, "2026r1", "A trial.", datetime.date(2026, 1, 2))
    build(invented_text, tmp_path / "compiled")
    return Database(Reader(ReleaseStore(current(tmp_path / "compiled").store)))


def test_an_estimate_is_refused_with_the_way_to_it_and_the_recipe(estimating: Database) -> None:
    with pytest.raises(NotAvailable) as refusal:
        estimating.value("invented-metal", "shear_speed")
    assert refusal.value.extensions["estimate_available"] is True
    assert "accept=estimates" in refusal.value.detail
    assert "refdb measure-speed" in refusal.value.detail


def test_an_estimate_that_is_accepted_says_what_it_is_and_where_it_comes_from(estimating: Database) -> None:
    answer = estimating.value("invented-metal", "shear_speed", accept="estimates")
    document = answer.document()
    assert (document["rung"], document["basis"]) == ("family", "estimated")
    assert answer.magnitude == pytest.approx(3042.5, abs=1.0)
    assert [source["key"] for source in answer.sources] == ["family"]
    assert estimating.provenance(ROW)["chain"]["rule"]["name"] == "family/1"


def test_an_open_question_names_no_estimate_unless_it_is_accepted(estimating: Database) -> None:
    state = read_state("20 degC")
    answered = estimating.values("invented-metal", state=state)
    assert "shear_speed" not in {answer.property_id for answer in answered}
    accepted = estimating.values("invented-metal", state=state, options=ESTIMATES)
    assert "shear_speed" in {answer.property_id for answer in accepted}
    listed = {subject["id"]: subject["properties"] for subject in estimating.subjects("material")}
    assert "shear_speed" not in listed["invented-metal"]


@pytest.mark.parametrize(("options", "properties"), [(Options(), 2), (ESTIMATES, 3)])
def test_many_states_at_once_are_answered_without_estimates_unless_accepted(
    estimating: Database, options: Options, properties: int
) -> None:
    batch = estimating.batch("invented-metal", state={"temperature": "20 degC"}, options=options)
    assert len(batch.parts) == properties


def test_the_list_of_materials_leaves_estimates_out_unless_accepted(estimating: Database) -> None:
    lines = {line["id"]: line for line in materials_table(estimating.reader)}
    assert lines["invented-metal"]["shear_speed"] is None
    accepted = {line["id"]: line for line in materials_table(estimating.reader, options=ESTIMATES)}
    assert untyped(accepted["invented-metal"])["shear_speed"]["rung"] == "family"


def test_the_audit_takes_an_estimate_for_no_evidence(estimating: Database) -> None:
    document = estimating.audit("solids")
    assert ROW not in {entry["row"]["id"] for entry in document["single_lineage"]}
    assert document["suspicions"] == []
