"""At which temperature, or at which strength or salinity, one liquid has a measured sound speed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from refdb.forms.states import CONTENTS
from refdb.liquids.inversion import Inversion, Root, Stretch, invert
from refdb.liquids.measurement import CAUTION, LiquidMeasurement
from refdb.lookup.evaluate import PreparedRow
from refdb.problems import BadParameter, NotAvailable
from refdb.units import Quantity, Unit, significant, units
from refdb.values.options import Options
from refdb.values.value import RowText
from refdb.vocabulary import STATE

if TYPE_CHECKING:
    from refdb.documents import QuantityDocument
    from refdb.liquids.documents import Content, RootDocument, Sought, StateMatchDocument, StretchDocument


MODEL = (
    "Every place of the row's range where measured and recommended speed differ by at most 2 standard uncertainties of "
    "both (JCGM 100:2008, k = 2); of a simple root the standard uncertainty is that of the speeds divided by the slope."
)
_DIFFERENCE = {
    "temperature": ("temperature_difference", "delta_K", "K"),
    "salinity": ("salinity", "g/kg", "g/kg"),
    "strength": ("mass_fraction", "kg/kg", "kg/kg"),
}


@dataclass
class StateMatch:
    """Where one liquid has a measured speed.

    Attributes:
        sought: `temperature`, `salinity` or `strength`.
        found: every stretch that agrees, with its roots and turning points.
    """

    text: RowText
    options: Options
    measured: LiquidMeasurement
    sought: Sought
    found: Inversion

    @property
    def roots(self) -> list[Root]:
        """Every place with exactly the measured speed, in the unit in which states are held."""
        return [root for stretch in self.found.stretches for root in stretch.roots]

    @cached_property
    def advice(self) -> list[str]:
        """Plain words: what the places are, where the speed is not sensitive, or why there is none."""
        if not self.found.stretches:
            return [self._none_words()]
        lines = [self._stretch_words(stretch) for stretch in self.found.stretches]
        if len(self.roots) > 1:
            lines.append(
                f"{len(self.roots)} places have this speed, since it turns; what else is known must tell which."
            )
        return lines

    @property
    def assumptions(self) -> list[str]:
        """What was taken for granted."""
        notes = list(self.measured.assumptions)
        if self.text.row.pressure is None:
            if self.measured.state.pascals is not None:
                notes.append("a value near 1 atm: the row says nothing of the pressure given")
        elif self.measured.state.pascals is None:
            notes.append(
                "pressure not given: 1 atm, and just above saturation where the liquid would boil"
                if self.found.at_saturation
                else "pressure not given: 1 atm"
            )
        return notes

    def document(self) -> StateMatchDocument:
        """The match as plain JSON values."""
        unit = self.options.unit_for("sound_speed", self.text.row.unit)
        fixed = self.text.fixed
        return {
            "release": self.text.release,
            "sought": self.sought,
            "subject": self.text.subject,
            "measured": self.measured.document(unit),
            "model": MODEL,
            "items": [self._stretch(stretch, unit) for stretch in self.found.stretches],
            "turning_points": [
                {"at": self._place(at), "sound_speed": self._speed(speed, unit)} for at, speed in self.found.turns
            ],
            "searched": [self._place(end) for end in self.found.span],
            "reached": [self._speed(speed, unit) for speed in self.found.reached],
            "rung": fixed["rung"],
            "row": fixed["row"],
            "sources": fixed["sources"],
            "valid_range": fixed["valid_range"],
            "advice": self.advice,
            "assumptions": self.assumptions,
            "warnings": [CAUTION],
        }

    def _stretch(self, stretch: Stretch, unit: Unit) -> StretchDocument:
        return {
            "low": self._place(stretch.low),
            "high": self._place(stretch.high),
            "ends_with_range": {"low": stretch.open_low, "high": stretch.open_high},
            "sensitive": stretch.simple,
            "roots": [self._root(root, unit) for root in stretch.roots],
            "text": self._stretch_words(stretch),
        }

    def _root(self, root: Root, unit: Unit) -> RootDocument:
        dimension, symbol, per = _DIFFERENCE[self.sought]
        slope = float(self.text.row.unit.difference_to(root.slope, unit))
        uncertainty = None
        if root.slope:
            uncertainty = Quantity(root.uncertainty, units().find(symbol, dimension)).document()
        return {
            "at": self._place(root.at),
            "standard_uncertainty": uncertainty,
            "slope": {"magnitude": significant(slope), "unit": f"{unit.symbol}/{_bracketed(per)}"},
            "inverse_slope": (
                {"magnitude": significant(1.0 / slope), "unit": f"{per}/({unit.symbol})"} if slope else None
            ),
        }

    def _place(self, at: float) -> QuantityDocument:
        part = STATE[self.sought]
        return Quantity(at, units().find(part.unit, part.dimension)).document()

    def _speed(self, speed: float, unit: Unit) -> QuantityDocument:
        return Quantity(self.text.row.unit.to(speed, unit), unit).document()

    def _stretch_words(self, stretch: Stretch) -> str:
        if stretch.simple:
            root = stretch.roots[0]
            return (
                f"{self.sought} {self.words(root.at)}, standard uncertainty {self.step_words(root.uncertainty)} "
                f"(between {self.words(stretch.low)} and {self.words(stretch.high)}, k = 2); "
                f"{self._slope_words(root)}"
            )
        span = f"{self.sought} from {self.words(stretch.low)} to {self.words(stretch.high)}"
        ends = " (the row ends there)" if stretch.open_low or stretch.open_high else ""
        exactly = ", ".join(self.words(root.at) for root in stretch.roots)
        at = f"exactly at {exactly}" if exactly else "nowhere exactly"
        if stretch.turns:
            turning = ", ".join(self.words(turn) for turn in stretch.turns)
            why = f"the speed turns at {turning}, and is not sensitive to the {self.sought} there"
        elif stretch.open_low or stretch.open_high:
            why = f"what lies beyond the range of the row is not known; within it the {self.sought} may be any of these"
        else:
            why = "the curve bends there, so that the ends say more than one uncertainty"
        return f"{span}{ends}, k = 2, {at}: {why}"

    def _slope_words(self, root: Root) -> str:
        unit = self.options.unit_for("sound_speed", self.text.row.unit)
        slope = float(self.text.row.unit.difference_to(root.slope, unit))
        if self.sought == "strength":
            return f"the speed changes by {slope / 100.0:+.3g} {unit.symbol} per % mass"
        per = "K" if self.sought == "temperature" else "g/kg"
        return f"the speed changes by {slope:+.3g} {unit.symbol} per {per}"

    def _none_words(self) -> str:
        unit = self.options.unit_for("sound_speed", self.text.row.unit)
        own = units().find("m/s", "speed")
        asked = float(own.to(self.measured.speed, unit))
        least, most = (float(self.text.row.unit.to(speed, unit)) for speed in self.found.reached)
        low, high = self.found.span
        return (
            f"No {self.sought} gives {asked:.6g} {unit.symbol}: from {self.words(low)} to {self.words(high)} the speed "
            f"of {self.text.subject['name']} runs from {least:.6g} to {most:.6g} {unit.symbol}. Check the bore, the "
            "path and gas bubbles, or whether it is this liquid."
        )

    def words(self, at: float) -> str:
        """A place in the words of people: a strength in percent."""
        if self.sought == "strength":
            return f"{100.0 * at:.4g} % mass"
        return f"{at:.4g} {STATE[self.sought].unit}"

    def step_words(self, step: float) -> str:
        """A difference of places."""
        if self.sought == "strength":
            return f"{100.0 * step:.2g} % mass"
        return f"{step:.2g} {'K' if self.sought == 'temperature' else STATE[self.sought].unit}"


def match_state(text: RowText, measured: LiquidMeasurement, sought: Sought, options: Options) -> StateMatch:
    """Where one liquid has a measured speed, along one part of the state.

    Args:
        sought: `temperature`, `salinity` or `strength`.

    Raises:
        MissingState, BadParameter: another part of the state is missing, or is not one of the liquid's.
        OutsideRange: the row answers nowhere at the state given.
        NotAvailable: the speed does not depend on what is asked for.
    """
    row = text.row
    if sought not in row.intervals or row.intervals[sought].low == row.intervals[sought].high:
        raise NotAvailable(
            f"{sought}: the sound speed of {text.subject['id']} is known at one {sought} only; it cannot tell the "
            f"{sought}.",
            parameter=sought,
        )
    own = units().find("m/s", "speed")
    speed = float(own.to(measured.speed, row.unit))
    uncertainty = float(own.difference_to(measured.uncertainty, row.unit))
    found = invert(row, sought, measured.state, speed, uncertainty, measured.kelvin)
    if found.problem is not None:
        raise found.problem
    return StateMatch(text, options, measured, sought, found)


def sought_of_solution(row: PreparedRow) -> Content:
    """Whether a solution is asked for its strength or its salinity.

    Raises:
        BadParameter: the liquid has neither.
    """
    for name in CONTENTS:
        if name in row.intervals:
            return name
    raise BadParameter(
        f"solution: {row.body['subject']} has no strength or salinity here; ask with liquid for its temperature.",
        parameter="solution",
        given=row.body["subject"],
    )


def _bracketed(per: str) -> str:
    return f"({per})" if "/" in per else per
