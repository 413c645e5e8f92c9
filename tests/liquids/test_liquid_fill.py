"""Every liquid that a plant meets answers a sound speed and a density, or its refusal says what would be needed."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import pytest

from refdb.database import Database
from refdb.problems import NotAvailable
from tests.conftest import PROJECT
from tests.invented_liquids import liquids
from tests.rows import each
from tests.tools.fill_liquids import MISSING, fill_of_liquids, filled
from tests.tools.wanted_liquids import WANTED

NAMES = [name for names in WANTED.values() for name in names]


def test_names_are_wanted_once() -> None:
    assert len(NAMES) == len(set(NAMES))


@each(("name", "property_id"), itertools.product(NAMES, ["sound_speed", "density"]))
def test_a_wanted_liquid_answers_or_its_refusal_says_what_would_be_needed(
    pending: Database, name: str, property_id: str
) -> None:
    refusal = ""
    try:
        found = filled(pending, name, property_id)
    except NotAvailable as problem:
        refusal = problem.detail
    else:
        assert found.answer.magnitude > 0.0
        assert found.answer.standard_uncertainty.magnitude > 0.0
    assert not refusal or ("What is needed is" in refusal and "the rules of the site" in refusal)


def test_the_table_shows_rung_range_documents_and_expanded_uncertainty(database: Database) -> None:
    seen: list[tuple[str, ...]] = []

    def table(*_headings: str, rows: Iterator[tuple[str, ...]]) -> str:
        seen.extend(rows)
        return ""

    text = fill_of_liquids(database, table)
    by_name = {row[0]: row[1:] for row in seen}
    assert by_name["water"][0].startswith("published; 0.01 degC to 200 degC; 5 documents; 1482.346 ± 0.089 m/s")
    assert by_name["seawater"][0].endswith("at 35 g/kg")
    assert by_name["water"][6].startswith("published; 0.01 degC to 60 degC")
    assert any(MISSING in row for row in seen)
    assert "Sound speed and density together: " in text


def test_a_liquid_that_is_not_known_at_20_degc_is_told_at_the_nearest_temperature(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    assert filled(liquids(tmp_path_factory.mktemp("liquids")), "hot", "sound_speed").words == "50 degC"


def test_the_page_is_written_by_make_docs() -> None:
    assert (PROJECT / "shared" / "docs" / "fill-liquids.md").is_file()
