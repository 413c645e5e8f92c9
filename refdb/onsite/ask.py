"""A speed measured on site, asked with a reader: against water, the water is that of a release."""

from __future__ import annotations

from refdb.lookup import ReleaseInfo
from refdb.lookup.state import read_state
from refdb.onsite.echo import SOLID_PARTS, MeasuredSpeed, measured_speed
from refdb.onsite.question import LiquidSpeedQuestion, MeasureSpeedQuestion
from refdb.onsite.travel_time import (
    MeasuredLiquidSpeed,
    check_liquid_parts,
    refuse_solid_parts,
    speed_against_water,
    speed_over_path,
)
from refdb.problems import BadParameter
from refdb.questions import fields_of
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


def speed_on_site(
    reader: Reader, asked: MeasureSpeedQuestion, release: ReleaseInfo
) -> MeasuredSpeed | MeasuredLiquidSpeed:
    """The speed in a liquid where any part of that is given, in a solid part otherwise.

    Raises:
        BadParameter: a part is missing, belongs to the other, or is not above zero.
        Problem: as `liquid_speed` and `measured_speed`.
    """
    liquid = LiquidSpeedQuestion(**{field.name: getattr(asked, field.name) for field in fields_of(LiquidSpeedQuestion)})
    solid = {name: getattr(asked, name) for name in SOLID_PARTS}
    if liquid != LiquidSpeedQuestion():
        refuse_solid_parts(solid | {"echoes": asked.echoes if asked.echoes != 1 else None})
        return liquid_speed(reader, liquid, asked.speed_unit, release)
    for field in fields_of(MeasureSpeedQuestion):
        if field.name in solid and solid[field.name] is None:
            raise BadParameter(f"{field.name}: is missing; give it, as in '{field.example}'.", parameter=field.name)
    return measured_speed(**solid, echoes=asked.echoes, unit=asked.speed_unit)
