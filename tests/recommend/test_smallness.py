"""How small differences are told."""

from __future__ import annotations

import pytest

from refdb.recommend.smallness import told


@pytest.mark.parametrize(
    ("size", "text"),
    [
        (0.0, "0 m/s"),
        (3.1e-13, "less than 1e-9 m/s"),
        (-3.1e-13, "less than 1e-9 m/s"),
        (1.04e-9, "0.000000001 m/s"),
        (0.0237, "0.024 m/s"),
        (-2.51, "-2.5 m/s"),
    ],
)
def test_a_size_that_is_but_rounding_is_told_as_less_than_can_be_told(size: float, text: str) -> None:
    assert told(size, 2, "m/s") == text
