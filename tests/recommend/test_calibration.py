"""One source left out, in turn: the published values must hold what they did not see, and not by being vague."""

from __future__ import annotations

import statistics

import pytest

from refdb.recommend.evidence import SPEEDS
from tests.tools.calibration import Campaign, coverage, page, plot

FEWEST = 50
"""Left-out readings below which a coverage of 90 to 98 % cannot be told from another."""


def test_between_90_and_98_percent_of_left_out_readings_of_metals_fall_inside_twice_the_uncertainty(
    left_out: Campaign,
) -> None:
    left = left_out.of("metals")
    if len(left) < FEWEST:
        pytest.skip(f"{len(left)} left-out readings of metals; {FEWEST} are needed to tell 90 % from 98 %")
    assert 0.90 <= coverage(left) <= 0.98, [one for one in left if not one.inside]


@pytest.mark.parametrize("property_id", SPEEDS)
def test_speeds_of_metals_by_themselves_hold_too(left_out: Campaign, property_id: str) -> None:
    left = [one for one in left_out.of("metals") if one.property_id == property_id]
    if len(left) < FEWEST // 2:
        pytest.skip(f"{len(left)} left-out readings of {property_id}")
    assert coverage(left) >= 0.88


# Two per cent was aimed at. With it, three left-out speeds in four lay inside, not nineteen in twenty: independent
# documents on one metal differ by about 1.3 %, and a smaller uncertainty would be a wish.
def test_the_median_expanded_uncertainty_of_published_speeds_of_metals_is_at_most_2_8_percent(
    left_out: Campaign,
) -> None:
    expanded = [size for name in SPEEDS for size in left_out.expanded["metals", name]]
    assert len(expanded) >= FEWEST // 2
    assert statistics.median(expanded) <= 0.028


def test_the_figures_of_metals_and_of_plastics_are_shown(left_out: Campaign) -> None:
    text, picture = page(left_out), plot(left_out)
    for family in ("metals", "plastics"):
        assert f"| {family} | longitudinal_speed |" in text
        assert f"{family}: {len(left_out.of(family))} readings" in picture


def test_a_reading_is_held_against_a_row_it_had_no_part_in(left_out: Campaign) -> None:
    for one in left_out.left:
        assert one.read > 0.0
        assert one.recommended > 0.0
        assert one.own_uncertainty > 0.0
