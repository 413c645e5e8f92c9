"""The arithmetic of rule consensus/2 against an independent library and worked examples.

- Kacker, R. N., Combining information from interlaboratory evaluations using a random effects model, Metrologia 41,
  132-136 (2004) (title from memory): nine laboratories' values and variances, and their Paule-Mandel mean and standard
  error as computed with the R package metafor; both as the tests of statsmodels print them (results "exk1_metafor").
- statsmodels.stats.meta_analysis.combine_effects, on readings drawn at random: Paule-Mandel variance, mean, and the
  Hartung-Knapp variance.
- Student's t: JCGM 100:2008, table G.2, 95 %.
- The interval of Higgins, Thompson and Spiegelhalter (2009) written out, and counted on simulated specimens.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import pytest

from refdb.recommend.random_effects import NO_PRIOR, Prior, combine, paule_mandel
from tests.peers import Peer
from tests.rows import each

meta_analysis = Peer("statsmodels.stats.meta_analysis")


class Kacker(NamedTuple):
    """Values and variances of nine laboratories, and what metafor makes of them."""

    values: tuple[float, ...] = (61.0, 61.4, 62.21, 62.3, 62.34, 62.6, 62.7, 62.84, 65.9)
    variances: tuple[float, ...] = (0.2025, 1.2100, 0.0900, 0.2025, 0.3844, 0.5625, 0.0676, 0.0225, 1.8225)
    mean: float = 62.4076199113286
    standard_error: float = 0.338030602684471


def test_nine_laboratories_are_combined_as_metafor_combines_them() -> None:
    example = Kacker()
    found = combine(example.values, [math.sqrt(v) for v in example.variances], NO_PRIOR)
    assert found.mean == pytest.approx(example.mean, rel=1e-8)
    assert found.mean_uncertainty == pytest.approx(example.standard_error, rel=1e-5)


@each("seed", range(20))
def test_readings_at_random_are_combined_as_statsmodels_combines_them(seed: int) -> None:
    random = np.random.default_rng(seed)
    count = int(random.integers(2, 12))
    uncertainties = random.uniform(10.0, 80.0, count)
    values = random.normal(5900.0, math.hypot(60.0, 40.0), count)
    # A finer tolerance lets rounding take its last step below zero, which statsmodels 0.15 answers with no variance.
    theirs = meta_analysis.combine_effects(values, uncertainties**2, method_re="iterated", atol=1e-6)
    ours = combine(values.tolist(), uncertainties.tolist(), NO_PRIOR if count > 2 else Prior(0.0, 1))
    between = paule_mandel(values.tolist(), (uncertainties**2).tolist())
    assert between == pytest.approx(max(0.0, float(theirs.tau2)), rel=1e-5, abs=1e-6)
    if count > 2:
        assert ours.mean == pytest.approx(float(theirs.mean_effect_re), rel=1e-9)
        # Never narrower than the usual variance of the mean, which Hartung and Knapp's may be.
        expected = max(float(theirs.sd_eff_w_re_hksj), float(theirs.sd_eff_w_re))
        assert ours.mean_uncertainty == pytest.approx(expected, rel=1e-6)


# JCGM 100:2008, table G.2, fraction 95 %: t for 1 to 10 degrees of freedom.
STUDENT_95 = {1: 12.71, 2: 4.30, 3: 3.18, 4: 2.78, 5: 2.57, 6: 2.45, 7: 2.36, 8: 2.31, 9: 2.26, 10: 2.23}


@each(("freedom", "quantile"), STUDENT_95.items())
def test_k_sources_leave_k_minus_two_degrees_of_freedom_and_a_family_adds_its_own(
    freedom: int, quantile: float
) -> None:
    values = [100.0 + place for place in range(freedom + 2)]
    alone = combine(values, [0.1] * len(values), NO_PRIOR)
    assert alone.freedom == freedom
    assert alone.quantile == pytest.approx(quantile, abs=0.006)
    lone = combine([100.0], [0.1], Prior(1.0, freedom + 1))
    assert lone.quantile == pytest.approx(quantile, abs=0.006)


def test_the_interval_is_that_of_higgins_thompson_and_spiegelhalter() -> None:
    """mu ± t(k-2) sqrt(tau² + SE²), with tau² and SE of statsmodels."""
    example = Kacker()
    theirs = meta_analysis.combine_effects(
        np.array(example.values), np.array(example.variances), method_re="iterated", atol=1e-10
    )
    found = combine(example.values, [math.sqrt(v) for v in example.variances], NO_PRIOR)
    spread = math.sqrt(float(theirs.tau2) + float(theirs.sd_eff_w_re) ** 2)
    assert found.half_interval == pytest.approx(STUDENT_95[7] * spread, rel=2e-3)


@pytest.mark.parametrize("documents", [1, 2, 4, 8])
def test_one_further_specimen_lies_inside_as_often_as_is_claimed(documents: int) -> None:
    """Specimens and documents drawn at random about 5000 m/s, as the policy takes them to differ."""
    random, specimen, document, trials = np.random.default_rng(documents), 15.0, 40.0, 2000
    inside = 0
    for _ in range(trials):
        values = random.normal(5000.0, math.hypot(specimen, document), documents).tolist()
        found = combine(values, [document] * documents, Prior(specimen, 20))
        inside += abs(random.normal(5000.0, specimen) - found.mean) <= found.half_interval
    assert 0.93 <= inside / trials <= 0.995
