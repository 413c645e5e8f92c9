"""Whatever is written, a quantity is read or refused by name; nothing else happens."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from refdb.problems import Problem
from refdb.units import Unit, parse_quantity, units
from tests.rows import each
from tests.units.hostile import HOSTILE

LONGEST_SENTENCE = 1_500
EXAMPLES = max(500, settings().max_examples)
"""A text is cheap to read, and what nobody thought of is rare among texts."""
DIMENSIONS = st.sampled_from(units().dimensions())
SPELLINGS = sorted({spelling for dimension in units().dimensions() for spelling in units().spellings(dimension)})
NUMBERS = st.one_of(
    st.floats().map(repr),
    st.integers().map(str),
    st.from_regex(r"[+\-−]?\d{1,40}([.,'’_ ]\d{1,40}){0,4}([eE][+\-]?\d{1,4})?", fullmatch=True),
    st.from_regex(r"\d{1,20}[ -]\d{1,20}/\d{1,20}", fullmatch=True),
)
ALMOST = st.builds(
    lambda number, gap, spelling, tail: number + gap + spelling + tail,
    NUMBERS,
    st.text(" \t\u00a0\n", max_size=3),
    st.sampled_from(SPELLINGS),
    st.text("*()/^ .-+0123456789µμ°\u200b\x00", max_size=4),
)


def told(ask: Callable[[], Any]) -> Any:
    """What the question gives: an answer or the problem it raises; any other error is a failure."""
    try:
        return ask()
    except Problem as problem:
        return problem


def read_or_refused(text: str, dimension: str) -> None:
    """A finite quantity of the dimension, or a problem whose sentence begins with the field."""
    result = told(lambda: parse_quantity(text, dimension, "some field"))
    if isinstance(result, Problem):
        assert refused_by_name(result)
        assert result.status == 422
    else:
        assert isinstance(result.magnitude, float)
        assert math.isfinite(result.magnitude)
        assert result.unit.dimension == dimension


def refused_by_name(problem: Problem) -> bool:
    """Whether the problem is one printable sentence of bounded length about the field."""
    named = problem.detail.startswith("some field: ") and problem.extensions["parameter"] == "some field"
    return named and problem.detail.isprintable() and len(problem.detail) < LONGEST_SENTENCE


@settings(max_examples=EXAMPLES)
@given(st.text(max_size=90), DIMENSIONS)
@example("1e308 km", "length")
def test_any_text_is_read_or_refused_by_name(text: str, dimension: str) -> None:
    read_or_refused(text, dimension)


@settings(max_examples=EXAMPLES)
@given(ALMOST, DIMENSIONS)
def test_any_text_that_is_almost_a_quantity_is_read_or_refused_by_name(text: str, dimension: str) -> None:
    read_or_refused(text, dimension)


@settings(max_examples=EXAMPLES)
@given(st.text(max_size=200))
def test_any_spelling_is_found_or_refused_by_name(spelling: str) -> None:
    result = told(lambda: units().find(spelling, None, "some field"))
    assert isinstance(result, Unit) or refused_by_name(result)


@each("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_a_hostile_text_is_refused_by_name(text: str) -> None:
    with pytest.raises(Problem) as caught:
        parse_quantity(text, "temperature", "some field")
    assert refused_by_name(caught.value)
    assert len(caught.value.extensions["given"]) < LONGEST_SENTENCE
