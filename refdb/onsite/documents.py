"""The documents of speeds measured on site."""

from typing import Literal

from refdb.documents import Document, QuantityDocument
from refdb.values.documents import ValueDocument

SolidInput = Literal["thickness", "echo_time"]
LiquidInput = Literal["path", "travel_time", "water_time", "water_speed", "temperature"]


class MeasuredInput(Document):
    """What one input contributes to the standard uncertainty of a measured speed."""

    input: SolidInput
    value: QuantityDocument
    standard_uncertainty: QuantityDocument
    contribution: QuantityDocument


class MeasuredSpeedDocument(Document):
    """A speed measured on site, with its standard uncertainty, method and advice."""

    speed: QuantityDocument
    standard_uncertainty: QuantityDocument
    echoes: int
    inputs: list[MeasuredInput]
    method: str
    advice: list[str]


class LiquidSpeedInput(Document):
    """What one input contributes to the standard uncertainty of a liquid's measured speed."""

    input: LiquidInput
    value: QuantityDocument
    standard_uncertainty: QuantityDocument
    contribution: QuantityDocument


class MeasuredLiquidSpeedDocument(Document):
    """A liquid's speed measured on site, with the speed of water where it was measured against that."""

    speed: QuantityDocument
    standard_uncertainty: QuantityDocument
    water: ValueDocument | None
    inputs: list[LiquidSpeedInput]
    method: str
    advice: list[str]
