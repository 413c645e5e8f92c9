"""Finding: forgiving in what it offers, strict in what it calls exact."""

from __future__ import annotations

import pytest

from refdb.database import Database
from refdb.problems import BadParameter


@pytest.mark.parametrize(
    ("text", "first", "exact"),
    [
        ("water", "water", True),
        ("316L", "stainless-316l", True),
        ("S31603", "stainless-316l", True),
        ("1.4404", "stainless-316l", True),
        ("stainles 316", "stainless-316", False),
        ("carbon stel", "carbon-steel", False),
        ("titanum", "titanium", False),
        ("E494", "astm-e494", False),
    ],
)
def test_the_best_fit_comes_first(database: Database, text: str, first: str, exact: bool) -> None:
    items = database.find(text)
    assert (items[0].id, items[0].exact) == (first, exact)


@pytest.mark.parametrize("text", ["stainles 316", "316LL", "1.440", "S3160", "14404", "TI ", "co"])
def test_a_likeness_is_never_called_exact(database: Database, text: str) -> None:
    exact = {item.id for item in database.find(text) if item.exact}
    assert exact <= ({"titanium"} if text.strip().casefold() == "ti" and text.strip() == "Ti" else set())


def test_an_ambiguous_name_shows_every_subject_that_has_it(database: Database) -> None:
    exact = [item.id for item in database.find("stainless steel") if item.exact]
    assert {"stainless-304", "stainless-316", "stainless-316l"} <= set(exact)


def test_a_pipe_is_found_by_its_words(database: Database) -> None:
    item = database.find("B36.10 NPS 8 Sch 40")[0]
    assert (item.kind, item.id, item.exact) == ("pipe", "b36.10-nps-8-sch-40", True)


def test_the_limit_is_kept(database: Database) -> None:
    assert len(database.find("steel", limit=3)) == 3


def test_a_formula_is_case_exact(database: Database) -> None:
    assert any(item.id == "titanium" and item.exact for item in database.find("Ti"))
    assert not any(item.exact for item in database.find("TI"))


def test_an_empty_text_is_refused(database: Database) -> None:
    with pytest.raises(BadParameter):
        database.find(" - ")
