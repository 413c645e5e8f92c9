"""One source left out, in turn: the published values must hold what they did not see, and not by being vague."""

from __future__ import annotations

import math
import statistics

import pytest

from refdb.recommend.evidence import SPEEDS
from tests.tools.calibration import ENOUGH, PROPERTIES, Campaign, binomial_interval, coverage, page, plot

GROUPS = ("metals", "ceramics-and-glasses", "plastics", "cementitious-and-masonry")


@pytest.mark.parametrize("property_id", PROPERTIES)
@pytest.mark.parametrize("group", GROUPS)
def test_cells_with_enough_readings_hold_90_to_97_percent_of_what_was_left_out(
    left_out: Campaign, group: str, property_id: str
) -> None:
    left = left_out.of(group, property_id)
    if len(left) < ENOUGH:
        pytest.skip(f"{len(left)} readings of {property_id} of {group} left out; {ENOUGH} are needed")
    assert 0.90 <= coverage(left) <= 0.97, [one for one in left if not one.inside]


@pytest.mark.parametrize("property_id", SPEEDS)
def test_speeds_of_metals_are_among_the_cells_that_are_enforced(left_out: Campaign, property_id: str) -> None:
    assert len(left_out.of("metals", property_id)) >= ENOUGH


# What the row's own uncertainty promises, without anybody's noise beside it.
@pytest.mark.parametrize("property_id", SPEEDS)
def test_the_rows_uncertainty_alone_holds_most_left_out_speeds_of_metals(left_out: Campaign, property_id: str) -> None:
    left = left_out.of("metals", property_id)
    assert statistics.fmean(one.inside_row for one in left) >= 0.85


def test_documents_that_were_set_aside_fare_no_worse_than_chance_allows(left_out: Campaign) -> None:
    aside = left_out.set_aside(kept=False)
    low, high = binomial_interval(sum(one.inside for one in aside), len(aside))
    assert len(aside) >= ENOUGH
    assert high >= 0.90, (low, high)


@pytest.mark.parametrize("property_id", SPEEDS)
def test_speeds_derived_again_from_static_moduli_have_no_bias_and_no_more_scatter_than_they_admit(
    left_out: Campaign, property_id: str
) -> None:
    scores = [one.score for one in left_out.again if one.property_id == property_id]
    assert len(scores) >= 20
    assert abs(statistics.fmean(scores)) <= 2.0 / math.sqrt(len(scores))
    assert math.sqrt(statistics.fmean(score * score for score in scores)) <= 1.0


def test_the_binomial_interval_is_that_of_clopper_and_pearson() -> None:
    # 30 of 40 and 44 of 44 by the beta quantiles of Clopper and Pearson (Biometrika 26, 404-413, 1934); 0.05^(1/n)
    # bounds a full count from below at one side, 0.025^(1/n) at two.
    low, high = binomial_interval(44, 44)
    assert low == pytest.approx(0.025 ** (1 / 44))
    assert high == 1.0
    low, high = binomial_interval(0, 20)
    assert low == 0.0
    assert high == pytest.approx(1.0 - 0.025 ** (1 / 20))


def test_the_figures_of_metals_and_of_plastics_are_shown(left_out: Campaign) -> None:
    text, picture = page(left_out), plot(left_out)
    for family in ("metals", "plastics"):
        assert f"| {family} | longitudinal_speed |" in text
        assert f"{family}: {len(left_out.of(family))} readings" in picture


def test_a_reading_is_held_against_a_row_it_had_no_part_in(left_out: Campaign) -> None:
    for one in left_out.left:
        assert one.read > 0.0
        assert one.recommended > 0.0
