"""A liquid's sound speed measured on site, asked with a reader: against water, the water is that of a release."""

from __future__ import annotations

from refdb.lookup import ReleaseInfo
from refdb.lookup.state import read_state
from refdb.onsite.travel_time import (
    LiquidSpeedQuestion,
    MeasuredLiquidSpeed,
    check_liquid_parts,
    speed_against_water,
    speed_over_path,
)
from refdb.values.ask import values_at
from refdb.values.reader import Reader


def liquid_speed(
    reader: Reader, asked: LiquidSpeedQuestion, unit: str, release: ReleaseInfo | None
) -> MeasuredLiquidSpeed:
    """The sound speed of a liquid from its travel time over a known path, or against water in the same vessel.

    Raises:
        BadParameter: a part is missing, belongs to the other way, or is not above zero.
        BadQuantity, UnknownUnit, WrongDimension: a quantity is not one, or measures something else.
        MissingState, OutsideRange: water is not liquid at the temperature, at 1 atm.
    """
    check_liquid_parts(asked)
    if asked.path is not None:
        return speed_over_path(asked, unit)
    state = read_state(asked.temperature)
    water = values_at(reader, "water", ["sound_speed"], state=state, release=release, kind="liquid").values[0]
    return speed_against_water(asked, water, unit)
