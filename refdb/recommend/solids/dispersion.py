"""How the speed of sound in a plastic rises with frequency, from what the plastic absorbs.

Where the loss per wavelength hardly depends on frequency, causality makes the speed rise with the logarithm of it:
Δc/c = (αλ/π²) ln(f2/f1), α being the attenuation in nepers per length and λ the wavelength (a Kramers-Kronig relation
for a loss that goes with the frequency; recalled, no document of it was seen).
"""

from __future__ import annotations

import math
import statistics
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from refdb.exact.functions import log10
from refdb.exact.sums import root_sum_square
from refdb.records import number_text, printed_number
from refdb.records.models import (
    PrintedInterval,
    PrintedQuantity,
    PropertyReading,
    RecommendedValue,
    Scalar,
    SpeedFrequency,
)
from refdb.records.readings import single_value
from refdb.units import UnitTable

AT, USUAL = 3.0, (1.0, 10.0)
"""In MHz: what rows of plastics' speeds are told for, and between what ultrasonic testing works (common practice, no
source)."""
ATTENUATION = {"longitudinal_speed": "longitudinal_attenuation", "shear_speed": "shear_attenuation"}
LN_10 = 2.302585092994046
PI_SQUARED = 9.869604401089358


@dataclass(frozen=True, slots=True)
class Dispersion:
    """The relative rise of a speed from one decade of frequency to the next, and whose attenuation it is from."""

    per_decade: float
    words: str

    def moved(self, value: float, reading: PropertyReading, table: UnitTable) -> tuple[float, float]:
        """A reading's speed at `AT`, with the standard uncertainty that its frequency leaves."""
        printed = reading.state.frequency
        low, high = USUAL if printed is None else _megahertz(printed, table)
        shift = self.per_decade * log10(AT / math.sqrt(low * high)) if printed is not None else 0.0
        width = self.per_decade * log10(high / low) / math.sqrt(12.0)
        return value * (1.0 + shift), root_sum_square(width * value, shift * value / 2.0)

    def record(self) -> SpeedFrequency:
        """What a row says of it."""
        low, high = (f"{end:g}" for end in USUAL)
        return SpeedFrequency(
            number=f"{AT:g}", low=low, high=high, unit="MHz", per_decade=number_text(100.0 * self.per_decade, 2)
        )


class Dispersions:
    """The dispersion of every material of which, or of whose kin, an attenuation was read."""

    def __init__(self, readings: Iterable[PropertyReading], group_of: Mapping[str, str], table: UnitTable) -> None:
        self._group_of = group_of
        self._own: dict[tuple[str, str], list[float]] = defaultdict(list)
        for reading in readings:
            if reading.property in ATTENUATION.values() and isinstance(reading, Scalar) and not reading.doubts:
                target = table.si(table.find(reading.unit).dimension)
                found = single_value(reading.plain(), target, table).value
                self._own[reading.subject, reading.property].append(found)

    def of(self, subject: str, property_id: str) -> Dispersion | None:
        """The dispersion of a speed of a material; None where nothing of its kin was read."""
        attenuation = ATTENUATION[property_id]
        own = self._own.get((subject, attenuation))
        if own is not None:
            return Dispersion(_per_decade(statistics.fmean(own)), "from its own attenuation")
        group = self._group_of.get(subject)
        kin = [
            statistics.fmean(found)
            for (other, name), found in sorted(self._own.items())
            if name == attenuation and self._group_of.get(other) == group
        ]
        if not kin:
            return None
        return Dispersion(_per_decade(statistics.median(kin)), f"from the median attenuation of {len(kin)} of its kin")


def frequency_of(rows: Sequence[RecommendedValue]) -> SpeedFrequency | None:
    """What a speed that rests on others says of its frequency: the median of their rises; None where they tell none."""
    told = [row.frequency for row in rows if row.frequency is not None]
    if not told:
        return None
    rise = statistics.median(float(one.per_decade) for one in told)
    return told[0].model_copy(update={"per_decade": number_text(rise, 2)})


def _per_decade(nepers: float) -> float:
    return nepers * LN_10 / PI_SQUARED


def _megahertz(printed: PrintedQuantity | PrintedInterval, table: UnitTable) -> tuple[float, float]:
    unit, target = table.find(printed.unit, "frequency"), table.find("MHz", "frequency")
    ends = (printed.low, printed.high) if isinstance(printed, PrintedInterval) else (printed.number, printed.number)
    low, high = (float(unit.to(printed_number(end), target)) for end in ends)
    return low, high
