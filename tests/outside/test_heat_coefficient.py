"""The heat coefficient of water against another implementation of IAPWS-IF97, and against refdb's own rows."""

from __future__ import annotations

import pytest

from refdb.job.flow.heat import water_coefficient
from tests.peers import Peer

IAPWS = Peer("iapws")
KELVIN = 273.15


@pytest.mark.parametrize("meter", ["supply", "return"])
@pytest.mark.parametrize(("supply", "back"), [(70.0, 30.0), (12.0, 6.0), (130.0, 70.0), (6.0, 12.0)])
def test_the_coefficient_is_that_of_iapws_if97_at_16_bar(supply: float, back: float, meter: str) -> None:
    """Region 1 of IAPWS R7-97(2012) by the library iapws, which was written by others."""
    warm, cold = (IAPWS.IAPWS97(P=1.6, T=celsius + KELVIN) for celsius in (supply, back))
    at_meter = warm if meter == "supply" else cold
    expected = 1000.0 * (warm.h - cold.h) / (supply - back) * at_meter.rho
    found = water_coefficient(supply + KELVIN, back + KELVIN, (supply if meter == "supply" else back) + KELVIN)
    assert found == pytest.approx(expected, rel=1e-6)


def test_70_and_30_degrees_give_the_known_figure() -> None:
    """4.1621 MJ/(m3 K) with the meter in the return (IAPWS-IF97 at 1.6 MPa; the table of the standard was not seen)."""
    assert water_coefficient(343.15, 303.15, 303.15) == pytest.approx(4.1621e6, rel=2e-5)
