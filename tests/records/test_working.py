"""The units of the numbers in a rule's working."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from refdb.database import Database
from refdb.records.working import KINDS, Kind, bare_number, working_units

Body = dict[str, Any]


def _rows(database: Database) -> Iterator[Body]:
    """Every version of every row that shows a working."""
    seen: set[str] = set()
    for release in database.store.releases:
        for record in database.store.of_kind("recommended", release):
            if record.digest not in seen and "working" in record.body:
                seen.add(record.digest)
                yield record.body


def test_every_entry_of_every_release_is_known_and_every_bare_number_accounted_for(database: Database) -> None:
    for body in _rows(database):
        units = working_units(body)
        for entry, text in body["working"].items():
            kind = KINDS[entry]
            if kind is Kind.TOLD:
                assert bare_number(text) is None, (body["id"], entry, text)
            assert (entry in units) == (bare_number(text) is not None and kind is not Kind.NUMBER), (body["id"], entry)


def test_a_mean_is_in_the_unit_of_the_row(database: Database) -> None:
    """It is the value of the row's form, which is in that unit, but for the digits kept."""
    compared = 0
    for body in _rows(database):
        mean = body["working"].get("mean")
        if mean is not None:
            assert working_units(body)["mean"] == body["unit"]
            assert float(body["form"]["coefficients"]["c0"]) == pytest.approx(float(mean), rel=1e-4), body["id"]
            compared += 1
    assert compared > 500


def test_what_joining_cost_is_relative_where_the_logarithm_was_joined() -> None:
    joined = {"unit": "Pa.s", "working": {"joining": "0.0000000000000044"}}
    assert working_units({**joined, "form": {"of": "logarithm"}}) == {"joining": "1"}
    assert working_units({**joined, "form": {"of": "value"}}) == {"joining": "Pa.s"}


def test_degrees_of_freedom_follow_their_number() -> None:
    assert bare_number("12.4 with 10 degrees of freedom") == ("12.4", " with 10 degrees of freedom")
    assert bare_number("0.25 % with 8 degrees of freedom") is None
    assert bare_number("4 of the excess, 2 of the temperature") is None
