"""Rules family-bounds/1 and wound-wall/1: what a property lies between where nothing else is known."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from refdb.recommend.solids.wound import WoundLayer, speeds

LAYER = WoundLayer(46.43e9, 14.92e9, 0.27, 0.3, 5.233e9, 1800.0)


def _bounded(records: dict[str, dict[str, Any]]) -> dict[str, dict[str, Any]]:
    return {name: row for name, row in records.items() if row.get("bound") == "between"}


def _ends(row: dict[str, Any]) -> tuple[float, float]:
    middle, size = float(row["form"]["coefficients"]["c0"]), float(row["uncertainty"]["number"])
    return middle - math.sqrt(3.0) * size, middle + math.sqrt(3.0) * size


def test_a_bound_is_no_value_of_any_kind_that_documents_give(records: dict[str, dict[str, Any]]) -> None:
    found = _bounded(records)
    assert len(found) > 50
    assert {row["rung"] for row in found.values()} == {"family"}
    assert {row["rule"] for row in found.values()} == {"family-bounds/1", "wound-wall/1"}


def test_every_published_member_of_a_family_lies_within_its_bound(records: dict[str, dict[str, Any]]) -> None:
    low, high = _ends(records["abs.longitudinal_speed"])
    for plastic in ("hdpe", "pvc-rigid", "polypropylene", "pmma", "polystyrene"):
        value = float(records[f"{plastic}.longitudinal_speed"]["form"]["coefficients"]["c0"])
        assert low < value < high, plastic


def test_irons_lie_where_the_practice_of_measuring_them_says_that_cast_iron_does(
    records: dict[str, dict[str, Any]],
) -> None:
    """ASTM E494, X3.1: 3500 to 5600 m/s and 2200 to 3200 m/s; a kelvin or so of room temperature widens them."""
    for iron in ("grey-iron", "white-iron", "high-silicon-iron", "austenitic-iron"):
        assert _ends(records[f"{iron}.longitudinal_speed"]) == pytest.approx((3500.0, 5600.0), rel=5e-3)
        assert _ends(records[f"{iron}.shear_speed"]) == pytest.approx((2200.0, 3200.0), rel=5e-3)


def test_straight_through_a_wound_wall_the_winding_does_not_matter() -> None:
    """The root of C33 over the density, for E1, E2, nu12, nu23 by the inverse of the compliances."""
    compliance = np.array(
        [
            [1.0 / 46.43e9, -0.27 / 46.43e9, -0.27 / 46.43e9],
            [-0.27 / 46.43e9, 1.0 / 14.92e9, -0.3 / 14.92e9],
            [-0.27 / 46.43e9, -0.3 / 14.92e9, 1.0 / 14.92e9],
        ]
    )
    expected = math.sqrt(np.linalg.inv(compliance)[2, 2] / 1800.0)
    assert expected == pytest.approx(3088.0, abs=1.0)
    for cosine_squared in (0.0, 0.33, 0.5, 1.0):
        assert speeds(LAYER, cosine_squared, 0.0)[0] == pytest.approx(expected, rel=1e-12)


def test_a_leaning_beam_solves_christoffels_equation_of_the_rotated_layer() -> None:
    """By rotating the whole stiffness as a tensor of fourth order, plus and minus, and its eigenvalues."""
    winding, lean = math.radians(55.0), math.radians(40.0)
    c11, c12, c22, c23 = LAYER.stiffness()
    g12, g23 = LAYER.shear_along, LAYER.shear_across
    tensor = np.zeros((3, 3, 3, 3))
    normal = np.array([[c11, c12, c12], [c12, c22, c23], [c12, c23, c22]])
    for one in range(3):
        for other in range(3):
            tensor[one, one, other, other] = normal[one, other]
    for (one, other), modulus in {(0, 1): g12, (0, 2): g12, (1, 2): g23}.items():
        for first, second in ((one, other), (other, one)):
            tensor[first, second, one, other] = tensor[first, second, other, one] = modulus
    walls = []
    for angle in (winding, -winding):
        turn = np.array(
            [[math.cos(angle), -math.sin(angle), 0.0], [math.sin(angle), math.cos(angle), 0.0], [0.0, 0.0, 1.0]]
        )
        walls.append(np.einsum("ai,bj,ck,dl,ijkl->abcd", turn, turn, turn, turn, tensor))
    direction = np.array([math.sin(lean), 0.0, math.cos(lean)])
    acoustic = np.einsum("ijkl,j,l->ik", np.mean(walls, axis=0), direction, direction)
    squares, vectors = np.linalg.eigh(acoustic / 1800.0)
    in_plane = [math.sqrt(square) for square, vector in zip(squares, vectors.T, strict=True) if abs(vector[1]) < 1e-9]
    fast, slow = speeds(LAYER, math.cos(winding) ** 2, math.sin(lean) ** 2)
    assert sorted(in_plane) == pytest.approx([slow, fast], rel=1e-12)


def test_a_radial_speed_is_no_substitute_for_that_of_a_leaning_beam() -> None:
    straight, leaning = (speeds(LAYER, 1.0 / 3.0, sine_squared)[0] for sine_squared in (0.0, 0.587))
    assert leaning > 1.03 * straight
