"""Limits and conditions as people write them in a cell, and as a record holds them."""

from __future__ import annotations

from typing import Any

import pytest

from refdb.ledger.cells import limit_cell, where_cell
from refdb.records.models import Limit, SizeCondition


@pytest.mark.parametrize(
    ("cell", "limit"),
    [
        ("12.5 %", {"greatest_of": [{"number": "12.5", "unit": "%"}]}),
        ("1/64 in", {"greatest_of": [{"number": "1/64", "unit": "in"}]}),
        ("1 % or 0.5 mm", {"greatest_of": [{"number": "1", "unit": "%"}, {"number": "0.5", "unit": "mm"}]}),
        (
            "1.3 mm + 0.001 DN",
            {"greatest_of": [{"number": "1.3", "unit": "mm", "slope": "0.001", "of": "DN"}]},
        ),
        ("at 0.401 in", {"extreme": {"number": "0.401", "unit": "in"}}),
        ("no limit", {"unlimited": True}),
    ],
)
def test_a_limit_is_read_as_it_is_written(cell: str, limit: dict[str, Any]) -> None:
    assert limit_cell(cell) == limit
    assert Limit.model_validate(limit).plain() == limit


def test_conditions_are_read_as_they_are_written() -> None:
    conditions = where_cell("NPS > 1 1/2; outside_diameter <= 219.1 mm")
    assert conditions == [
        {"what": "NPS", "relation": ">", "number": "1 1/2"},
        {"what": "outside_diameter", "relation": "<=", "number": "219.1", "unit": "mm"},
    ]
    assert [SizeCondition.model_validate(condition).plain() for condition in conditions] == conditions


@pytest.mark.parametrize("cell", ["12,5 %", "about 1 mm", "1 % and 0.5 mm", "mm 3", "", "1 mm + 0.1 NPS"])
def test_a_limit_that_is_not_written_so_is_refused_with_how_to_write_it(cell: str) -> None:
    with pytest.raises(ValueError, match="write it as"):
        limit_cell(cell)


@pytest.mark.parametrize("cell", ["NPS over 2", "NPS >= ", "2 < NPS < 4", ""])
def test_a_condition_that_is_not_written_so_is_refused_with_how_to_write_it(cell: str) -> None:
    with pytest.raises(ValueError, match="write them as"):
        where_cell(cell)


@pytest.mark.parametrize(
    "fields",
    [
        {},
        {"unlimited": True, "extreme": {"number": "1", "unit": "mm"}},
        {"greatest_of": [{"number": "1", "unit": "mm", "slope": "0.1"}]},
    ],
)
def test_a_limit_says_exactly_one_thing(fields: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match=r"limit|slope"):
        Limit.model_validate(fields)


@pytest.mark.parametrize(
    "fields",
    [
        {"what": "wall", "relation": "<", "number": "6"},
        {"what": "NPS", "relation": "<", "number": "6", "unit": "in"},
    ],
)
def test_a_dimension_has_a_unit_and_a_size_word_has_none(fields: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="unit"):
        SizeCondition.model_validate(fields)
