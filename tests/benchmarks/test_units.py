"""Reading a quantity: what a hostile text costs beside a plain one, and what the length of a text costs."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from refdb.problems import Problem
from refdb.units import parse_quantity, units
from tests.benchmarks.conftest import Measured
from tests.units.hostile import HOSTILE

READINGS = 300
ROUNDS = 15
MOST_FOR_A_REFUSAL = 20.0
MOST_FOR_THE_LONGEST = 5.0
MOST_FOR_A_THOUSANDFOLD = 3.0
MOST_FOR_A_CONVERSION = 10.0
PLAIN = "20 degC"

Ratio = Callable[[Measured, Measured, int], float]


def seconds_to_read(text: str, dimension: str = "temperature") -> float:
    """Seconds for one reading, refused or not."""
    begun = time.perf_counter()
    for _ in range(READINGS):
        try:
            parse_quantity(text, dimension, "temperature")
        except Problem:
            continue
    return (time.perf_counter() - begun) / READINGS


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_refusing_a_hostile_text_costs_little_more_than_reading_a_plain_one(
    text: str, ratio: Ratio, benchmark: Any
) -> None:
    result = ratio(lambda: seconds_to_read(text), lambda: seconds_to_read(PLAIN), ROUNDS)
    benchmark.extra_info["milliseconds_to_refuse"] = benchmark.extra_info["measured"] * 1e3
    assert result <= MOST_FOR_A_REFUSAL


def test_the_longest_text_that_is_read_costs_about_as_much_as_a_short_one(ratio: Ratio) -> None:
    longest = "0." + "1" * 57 + " degC"
    assert len(longest) == 64
    assert ratio(lambda: seconds_to_read(longest), lambda: seconds_to_read(PLAIN), ROUNDS) <= MOST_FOR_THE_LONGEST


@pytest.mark.parametrize("letter", ["9", " ", "(", "k", "e", "."])
def test_refusing_a_text_does_not_slow_down_with_its_length(letter: str, ratio: Ratio) -> None:
    short, long = "20 " + letter * 1_000, "20 " + letter * 1_000_000
    assert ratio(lambda: seconds_to_read(long), lambda: seconds_to_read(short), ROUNDS) <= MOST_FOR_A_THOUSANDFOLD


def test_a_straight_unit_pays_nothing_for_the_curved_ones(ratio: Ratio) -> None:
    """A conversion between straight units, beside the bare line it is, both of one number."""
    fahrenheit, kelvin = units().find("degF", "temperature"), units().find("K", "temperature")
    scale, offset = fahrenheit.scale, fahrenheit.offset

    def converted() -> float:
        begun = time.perf_counter()
        for _ in range(READINGS):
            fahrenheit.to(68.0, kelvin)
        return time.perf_counter() - begun

    def line(magnitude: float) -> float:
        return magnitude * scale + offset

    def bare() -> float:
        begun = time.perf_counter()
        for _ in range(READINGS):
            line(68.0)
        return time.perf_counter() - begun

    assert ratio(converted, bare, ROUNDS) <= MOST_FOR_A_CONVERSION


def test_an_array_is_converted_at_once_along_a_curve_too(ratio: Ratio) -> None:
    """A hundred times the numbers must not cost a hundred times the seconds."""
    seconds, viscosity = units().find("SSU"), units().si("kinematic_viscosity")
    few, many = np.linspace(40.0, 5000.0, 10), np.linspace(40.0, 5000.0, 1000)

    def converted(magnitudes: Any) -> float:
        begun = time.perf_counter()
        for _ in range(10):
            seconds.to(magnitudes, viscosity)
        return time.perf_counter() - begun

    assert ratio(lambda: converted(many), lambda: converted(few), ROUNDS) <= 50.0
