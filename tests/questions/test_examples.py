"""What a declaration says can be believed: every example is a right answer to its field."""

from __future__ import annotations

import pytest

from refdb.problems import Problem
from refdb.questions import Asked
from refdb.units import parse_quantity
from refdb.values.table import read_range
from tests.questions.declared import fields


def _measures(field: Asked, dimension: str) -> bool:
    try:
        parse_quantity(field.example, dimension, field.name)
    except Problem:
        return False
    return True


@pytest.mark.parametrize("field", [one for one in fields() if one.dimensions], ids=lambda one: one.name)
def test_the_example_of_a_quantity_is_one_of_its_dimension(field: Asked) -> None:
    if field.metavar == "RANGE":
        assert len(read_range(field.example, field.name).magnitude) > 1
    else:
        assert any(_measures(field, dimension) for dimension in field.dimensions)


@pytest.mark.parametrize("field", [one for one in fields() if one.choices], ids=lambda one: one.name)
def test_the_example_of_a_choice_is_one_that_is_offered(field: Asked) -> None:
    assert field.example in field.choices


@pytest.mark.parametrize("field", fields(), ids=lambda one: one.name)
def test_every_field_says_what_it_is_in_sentences_and_shows_one(field: Asked) -> None:
    assert field.words[0].isupper()
    assert field.words.endswith(".")
    assert field.example
