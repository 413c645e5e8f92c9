"""One limit for one law: what deriving leaves out is what the audit calls suspicious."""

from __future__ import annotations

import inspect

import pytest

from refdb import laws
from refdb.evidence import suspicion
from refdb.forms.elasticity import speeds_from_moduli
from refdb.recommend.solids import checks

STEEL = {"youngs_modulus": 206e9, "poisson_ratio": 0.29, "density": 7850.0}
"""Invented, of the order of steels."""


def test_speeds_that_follow_from_a_modulus_agree_with_it() -> None:
    longitudinal, shear = speeds_from_moduli(**STEEL)
    held = laws.hold_youngs_modulus(longitudinal, shear, STEEL["density"], STEEL["youngs_modulus"])
    assert held.off == pytest.approx(0.0, abs=1e-12)
    assert not held.broken


@pytest.mark.parametrize(("printed", "broken"), [(1.14, False), (1.16, True), (0.86, False), (0.84, True)])
def test_a_modulus_is_broken_beyond_its_limit_on_either_side(printed: float, broken: bool) -> None:
    longitudinal, shear = speeds_from_moduli(**STEEL)
    own = STEEL["youngs_modulus"] * printed
    assert laws.Held(own, STEEL["youngs_modulus"], laws.YOUNGS_MODULUS).broken is broken
    faster = printed**0.5
    held = laws.hold_youngs_modulus(longitudinal * faster, shear * faster, STEEL["density"], STEEL["youngs_modulus"])
    assert held.broken is broken


def test_three_moduli_of_one_row_bind_one_another() -> None:
    shear = STEEL["youngs_modulus"] / (2.0 * (1.0 + STEEL["poisson_ratio"]))
    assert not laws.hold_moduli(STEEL["youngs_modulus"] * 1.05, shear, STEEL["poisson_ratio"]).broken
    assert laws.hold_moduli(STEEL["youngs_modulus"] * 1.07, shear, STEEL["poisson_ratio"]).broken


def test_documents_that_copy_one_another_speak_once() -> None:
    said = [("a", 1.0), ("a", 3.0), ("b", 10.0), ("c", 11.0)]
    assert laws.means_of_lineages(said) == [2.0, 10.0, 11.0]
    assert laws.median_of_lineages(said) == 10.0


def test_deriving_and_auditing_hold_readings_against_the_same_laws() -> None:
    for law in ("hold_youngs_modulus", "hold_bulk_speed", "hold_moduli"):
        assert all(law in inspect.getsource(module) for module in (checks, suspicion))
