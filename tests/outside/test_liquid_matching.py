"""The way back from a sound speed, against figures printed elsewhere: they give back the state they are printed at.

- Del Grosso and Mader (1972), table III: measured speeds in pure water at 1 atm. Their temperatures are IPTS-68, which
  differs from ITS-90 by less than 0.03 K here (Preston-Thomas 1990, table 1).
- UNESCO Technical Papers in Marine Science 44 (Fofonoff and Millard 1983): the equation of Chen and Millero at 1 atm.
- IAPWS R13-08, table 8a, as repeated in the tests of iapws: sea water of 35.16504 g/kg at 0 degC, 1449.00246 m/s.
"""

from __future__ import annotations

import pytest

from refdb.database import Database
from refdb.forms import make_form
from refdb.liquids.match_state import StateMatch
from refdb.liquids.question import LiquidQuestion
from tests.outside.evidence import Records

SURE = "0.02 m/s"


def _roots(database: Database, speed: float, **more: str) -> list[float]:
    asked = LiquidQuestion(sound_speed=f"{speed!r} m/s", sound_speed_uncertainty=SURE, **more)
    found = database.match_liquid(asked)
    assert isinstance(found, StateMatch)
    return [root.at for root in found.roots]


def test_measured_speeds_of_water_give_back_their_temperatures(database: Database, records: Records) -> None:
    measured = (
        record
        for row, record in records.items()
        if row.startswith("water.sound_speed.") and record["source"] == "del-grosso-mader-1972" and "points" in record
    )
    points = [(float(celsius), float(speed)) for record in measured for celsius, speed in record["points"]]
    # The row begins at the triple point, 0.01 degC, within which a point may fall by its own error.
    told = [(celsius, speed) for celsius, speed in points if 0.1 < celsius < 55.0]
    assert len(told) > 20
    for celsius, speed in told:
        # The slope is 0.8 m/s per kelvin and more below 55 degC; the speeds differ by 0.06 m/s at most.
        assert min(abs(root - celsius) for root in _roots(database, speed, liquid="water")) < 0.1


# Marczak (1997), fifth-order polynomial as printed: 74 degC is where the speed of water turns, near 1555.1 m/s.
def test_the_speed_of_water_turns_where_the_equation_of_marczak_turns(database: Database, records: Records) -> None:
    marczak = make_form({"name": "polynomial/1", **_polynomial(records["water.sound_speed.03"])})
    turn = max((float(marczak.value(celsius)), celsius) for celsius in [70.0 + 0.05 * step for step in range(160)])
    found = database.match_liquid(sound_speed="1550 m/s", liquid="water")
    assert isinstance(found, StateMatch)
    ((celsius, speed),) = found.found.turns
    assert celsius == pytest.approx(turn[1], abs=0.2)
    assert speed == pytest.approx(turn[0], abs=0.07)


def _polynomial(record: dict[str, object]) -> dict[str, object]:
    return {key: record[key] for key in ("variable", "coefficients") if key in record}


# UNESCO 44; a unit of practical salinity is 35.16504/35 g/kg (TEOS-10). The two equations differ by 0.3 m/s at most.
@pytest.mark.parametrize("practical", [10.0, 20.0, 35.0])
@pytest.mark.parametrize("celsius", [5.0, 15.0, 25.0])
def test_the_equation_of_chen_and_millero_gives_back_its_salinity(
    database: Database, records: Records, practical: float, celsius: float
) -> None:
    reading = records["seawater.sound_speed.02"]
    form = make_form({"name": "power-sum/1", "axes": reading["axes"], "terms": reading["terms"]})
    speed = float(form.value(celsius, 0.0, practical))
    (root,) = _roots(database, speed, solution="seawater", temperature=f"{celsius} degC")
    assert root == pytest.approx(practical * 35.16504 / 35.0, abs=0.3)


def test_the_check_value_of_iapws_gives_back_the_reference_salinity(database: Database) -> None:
    (root,) = _roots(database, 1449.00246, solution="seawater", temperature="0 degC")
    assert root == pytest.approx(35.16504, abs=0.03)
