"""Where a liquid ends: its freezing point, and the pressure at which it boils."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

from refdb.exact.functions import EXACT
from refdb.forms.scaled import ScaledPolynomial
from refdb.recommend.liquids.grid import grid_spec, saturation_spec
from refdb.records import digest, printed_number
from refdb.records.models import (
    AnyInterval,
    AnyRecord,
    Grid,
    Input,
    LiquidInterval,
    PrintedInterval,
    PrintedQuantity,
    Scalar,
    StateVariable,
)
from refdb.units import UnitTable

MARGIN = 0.9
"""How far below its highest pressure a row's liquid must boil, so that there is something between the two."""


@dataclass(frozen=True)
class LiquidBounds:
    """The bounds of one liquid.

    Attributes:
        saturation: the grid of its saturation pressure, and that as a form of the temperature in degC, in MPa.
        freezing: the reading that says where it freezes, and that in degC.
    """

    HIGHEST: ClassVar[str] = "1"
    """MPa up to which rows hold that know no pressure."""

    COMPARED_FROM: ClassVar[float] = 0.001
    """MPa from which saturation pressures are compared: below, handbooks extrapolate, and no pipe is run."""

    grids: Mapping[str, Grid]
    saturation: Grid | None
    form: ScaledPolynomial | None
    freezing: Scalar | None
    freezing_celsius: float | None

    @property
    def saturated(self) -> bool:
        """Whether it is known where the liquid boils."""
        return self.saturation is not None

    @property
    def freezes_at(self) -> PrintedQuantity | None:
        """As printed."""
        return PrintedQuantity(number=self.freezing.number, unit=self.freezing.unit) if self.freezing else None

    def holds(self, celsius: float) -> bool:
        """Whether the liquid boils below the highest pressure, as far as that is known."""
        low, high = self._span()
        if self.form is None or celsius < low:
            return True
        return celsius <= high and float(self.form.value(celsius)) <= MARGIN * float(self.HIGHEST)

    def inside(self, low: float, high: float) -> tuple[float, float] | None:
        """The part of a range of temperatures at which the liquid is neither frozen nor boils above 1 MPa.

        Bounds that move are told to a hundredth of a kelvin.
        """
        if self.freezing_celsius is not None:
            low = max(low, self.freezing_celsius)
        if self.form is not None:
            first, last = self._span()
            low, high = max(low, first), min(high, last)
            while high > low and not self.holds(high):
                high = round(max(low, high - 0.5), 2)
        return (low, high) if low < high else None

    def saturation_spec(self, low: float, high: float, table: UnitTable) -> dict[str, Any] | None:
        """The saturation pressure in MPa over a range of temperatures; None where it is not known all over it."""
        if self.saturation is None:
            return None
        first, last = self._span()
        return saturation_spec(self.saturation, self.grids, "MPa", table) if first <= low and high <= last else None

    def domain(self, low: str, high: str, saturated: bool) -> dict[StateVariable, AnyInterval]:
        """The domain of a row over a range of temperatures in degC."""
        domain: dict[StateVariable, AnyInterval] = {"temperature": PrintedInterval(low=low, high=high, unit="degC")}
        if saturated and self.saturation is not None:
            row = f"{self.saturation.subject}.saturation_pressure"
            domain["pressure"] = LiquidInterval(low="saturation", high=self.HIGHEST, unit="MPa", saturation=row)
        return domain

    def inputs(self, saturated: bool) -> list[Input]:
        """The readings that bound a row."""
        found = []
        if saturated and self.saturation is not None:
            grid = self.saturation
            found.append(Input(id=grid.id, digest=digest(grid.plain()), note="where the liquid begins"))
        if self.freezing is not None:
            reading = self.freezing
            note = "where the liquid freezes at 1 atm"
            found.append(Input(id=reading.id, digest=digest(reading.plain()), note=note))
        return found

    def _span(self) -> tuple[float, float]:
        if self.saturation is None:
            return float("-inf"), float("inf")
        axis = self.saturation.axes[0]
        return printed_number(axis.low), printed_number(axis.high)


def _is_saturation(grid: Grid) -> bool:
    """Whether a grid can stand at the low end of a pressure."""
    return grid.property == "saturation_pressure" and len(grid.axes) == 1 and grid.of == "logarithm" and not grid.doubts


class Liquids:
    """The bounds of every liquid of a ledger."""

    def __init__(self, records: Mapping[str, AnyRecord], table: UnitTable) -> None:
        self._table = table
        self._grids = {row: record for row, record in records.items() if isinstance(record, Grid)}
        self._freezing: dict[str, Scalar] = {}
        self._saturation: dict[str, Grid] = {}
        for _, record in sorted(records.items()):
            if isinstance(record, Scalar) and record.property == "freezing_point" and not record.doubts:
                self._freezing.setdefault(record.subject, record)
            elif isinstance(record, Grid) and _is_saturation(record):
                self._saturation.setdefault(record.subject, record)

    def of(self, subject: str) -> LiquidBounds:
        """The bounds of one; of several readings the first by id."""
        saturation, freezing = self._saturation.get(subject), self._freezing.get(subject)
        form = celsius = None
        if saturation is not None:
            form = ScaledPolynomial(saturation_spec(saturation, self._grids, "MPa", self._table), EXACT)
        if freezing is not None:
            unit = self._table.find(freezing.unit, "temperature")
            celsius = float(unit.to(printed_number(freezing.number), self._table.find("degC", "temperature")))
            celsius = round(celsius, 6)
        return LiquidBounds(self._grids, saturation, form, freezing, celsius)

    def spec(self, grid: Grid) -> dict[str, Any]:
        """The description of the form that joins a grid's nodes."""
        return grid_spec(grid, self._grids, self._table)
