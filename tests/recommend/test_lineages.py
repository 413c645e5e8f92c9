"""Lineage by coincidence: copies are found by their digits, and independent tables with round numbers are not."""

from __future__ import annotations

import random

import pytest

from refdb.ledger import load_ledger
from refdb.recommend.policy import load_policy
from refdb.release.vocabulary import compile_vocabulary
from refdb.units import UnitTable
from tests.conftest import PROJECT
from tests.tools.lineages import LIMIT, Coincidences, Number, coincidences, listed, tail

METALS = [f"metal-{number}" for number in range(15)]
PLACES = [(metal, name) for metal in METALS for name in ("longitudinal_speed", "shear_speed")]
SPREADS = dict.fromkeys(PLACES, 0.01)
Printed = dict[tuple[str, str], list[Number]]


def _table(seed: int, unit: float = 10.0) -> Printed:
    """An independent document: speeds about 5000 m/s with 1 % between documents, rounded to `unit`."""
    draw, own = random.Random(7), random.Random(seed)  # noqa: S311 - a draw that anybody can repeat
    truth = {place: draw.uniform(3000.0, 7000.0) for place in PLACES}
    return {
        place: [Number(round(value * (1.0 + own.gauss(0.0, 0.01)) / unit) * unit, unit, f"{place} {unit}")]
        for place, value in truth.items()
    }


def _found(**documents: Printed) -> set[tuple[str, str]]:
    pairs, _ = Coincidences(documents, SPREADS, {name: name for name in documents}).found()
    return {pair.documents for pair in pairs if pair.probability < LIMIT}


def test_a_table_that_took_half_its_rows_from_another_is_found() -> None:
    first, other = _table(1), _table(2)
    copied = {place: first[place] if METALS.index(place[0]) % 2 else other[place] for place in PLACES}
    assert _found(first=first, second=copied, third=_table(3)) == {("first", "second")}


def test_independent_tables_are_not_found() -> None:
    assert _found(first=_table(1), second=_table(2), third=_table(3)) == set()


def test_equal_round_numbers_prove_nothing() -> None:
    # Rounded to 500 m/s at 1 % of 5000 m/s nearly every number is equal.
    assert _found(first=_table(1, 500.0), second=_table(2, 500.0)) == set()


def test_three_copies_of_one_table_do_not_shield_one_another() -> None:
    one = _table(1)
    pairs = _found(first=one, second=dict(one), third=dict(one), fourth=_table(4))
    assert pairs == {("first", "second"), ("first", "third"), ("second", "third")}


# Of three events of probability 1/2 at least two happen with (3 + 1)/8; the binomial distribution.
def test_the_tail_is_that_of_the_binomial_distribution() -> None:
    assert tail([0.5, 0.5, 0.5], 2) == pytest.approx(0.5)
    assert tail([0.2, 0.9], 0) == pytest.approx(1.0)
    assert tail([0.2, 0.9], 2) == pytest.approx(0.18)


def test_every_pair_that_the_ledger_shows_is_listed() -> None:
    vocabulary = compile_vocabulary(PROJECT)
    policy = load_policy(PROJECT)
    pairs, _ = coincidences(load_ledger(PROJECT, vocabulary), policy, UnitTable.from_documents(vocabulary["units"]))
    found = {tuple(pair.documents): pair.equal for pair in listed(pairs, policy)}
    told = {tuple(pair.documents): pair.equal for pair in policy.shared_lineages}
    assert told == found, "python -m tests.tools.lineages writes them"
