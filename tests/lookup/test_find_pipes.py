"""Pipes are found by the words people write for them, and no number is taken for another."""

from __future__ import annotations

import pytest

from refdb.database import Database
from refdb.lookup.find_pipes import tokens
from tests.rows import each


@each(
    ("text", "first"),
    [
        ("NPS 8 sch 40", "b36.10-nps-8-sch-40"),
        ('8" sch 40', "b36.10-nps-8-sch-40"),
        ("8 inch schedule 40 steel", "b36.10-nps-8-sch-40"),
        ("b36.10 NPS 8 40", "b36.10-nps-8-sch-40"),
        ("2 1/2 in sch 10S", "b36.19-nps-2-1-2-sch-10s"),
        ("DN200 K9", "en545-dn-200-k9"),
        ("ductile iron DN 200 K9", "en545-dn-200-k9"),
        ("ISO 4427 SDR 11 110", "iso4427-od-110-sdr-11"),
        ("copper type L 1/2", "b88-nominal-1-2-type-l"),
        ("PVC DR 18 8 in", "c900-nominal-8-dr-18"),
        ("JIS 200A sch 40", "jis-g3454-a-200-sch-40"),
    ],
)
def test_the_pipe_that_is_meant_comes_first(database: Database, text: str, first: str) -> None:
    assert database.find(text)[0].id == first


@pytest.mark.parametrize("text", ["NPS 8 sch 40", "DN200 K9", "SDR 11 110"])
def test_no_pipe_of_a_search_is_called_exact_without_its_system(database: Database, text: str) -> None:
    assert not any(item.exact for item in database.find(text))


def test_a_wall_without_a_word_is_told_by_its_number(database: Database) -> None:
    names = {item.name for item in database.find("22 mm copper") if item.kind == "pipe"}
    assert "EN1057 OD 22 wall 0.9 mm" in names


def test_an_alloy_is_still_found_by_its_number(database: Database) -> None:
    assert database.find("1.4404")[0].id == "stainless-316l"
    assert database.find("316L")[0].id == "stainless-316l"


def test_words_and_numbers_are_told_apart() -> None:
    assert tokens("DN200") == ["dn", "200"]
    assert tokens('2 1/2" Sch. 10S') == ["2", "1/2", "in", "sch", "10", "s"]
