"""The conversion from ITS-90 to IPTS-68, compared with the printed differences between the two scales."""

from __future__ import annotations

import pytest

from refdb.forms.scales import to_scale
from tests.rows import each

# CRC Handbook of Chemistry and Physics, "Conversion of temperatures from the 1948 and 1968 scales to ITS-90", column
# t90 - t68, after Burns and others (1993) and Goldberg and Weir (1992); read in a copy at zanotowane.pl/1021/3292.
PRINTED_DIFFERENCES = [
    (0.0, 0.000),
    (10.0, -0.002),
    (20.0, -0.005),
    (30.0, -0.007),
    (40.0, -0.010),
    (50.0, -0.013),
    (60.0, -0.016),
    (70.0, -0.018),
    (80.0, -0.021),
    (90.0, -0.024),
    (100.0, -0.026),
]

# The factor of the oceanographic standards is a straight line made for 0 to 40 degC. There it is right to the printed
# digit; above, it falls short by up to 2.4 mK (at 90 and 100 degC), which is worth 0.002 m/s in water.
ROUNDING = 0.0005
LINEAR_TO_100 = 0.0025


@each(("celsius", "difference"), PRINTED_DIFFERENCES)
def test_the_two_scales_differ_as_printed_within_what_a_straight_line_can_do(celsius: float, difference: float) -> None:
    tolerance = ROUNDING if celsius <= 40.0 else LINEAR_TO_100

    assert celsius - to_scale(celsius, "IPTS-68") == pytest.approx(difference, abs=tolerance)


def test_a_temperature_on_its90_stays_as_it_is() -> None:
    # Definition: the states of this database are on ITS-90.
    assert to_scale(37.0, "ITS-90") == 37.0
