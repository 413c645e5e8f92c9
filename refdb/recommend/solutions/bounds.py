"""What is known of where solutions freeze and boil, put into their rows: a guard, or the words that nobody checked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from refdb.constants import STANDARD_ATMOSPHERE
from refdb.exact.functions import EXACT
from refdb.forms import ScaledPolynomial
from refdb.records import digest, printed_number
from refdb.records.models import Input, PrintedInterval, RecommendedValue

FREEZING_UNSEEN = "Freezing and crystallising were not checked: no curve of either was seen that covers this row."
BOILING_UNSEEN = (
    "Boiling was not checked: what is dissolved evaporates too, and no vapour pressure of the solution was seen."
)
ATMOSPHERE = f"{STANDARD_ATMOSPHERE:g}"
"""Pa: the rows rest on points and tables at about 1 atm, which say that the solution is liquid there."""

STEPS = 40
BOUNDING = ("freezing_point", "saturation_pressure")


def bounded(
    row: RecommendedValue, own: Mapping[str, RecommendedValue], water: RecommendedValue | None
) -> RecommendedValue:
    """A row of a solution with the vapour pressure that guards it, and with a warning for what nothing guards.

    Args:
        own: rows of solutions so far, those that tell where this one freezes and boils among them.
        water: the row of water's saturation pressure, where what is dissolved hardly evaporates: by Raoult's law the
            solution boils at no higher pressure than water does.
    """
    if row.property in BOUNDING:
        return row
    notes = list(row.notes or [])
    if not _unfrozen(row, own.get(f"{row.subject}.freezing_point")):
        notes.append(FREEZING_UNSEEN)
    vapour = own.get(f"{row.subject}.saturation_pressure")
    if vapour is not None:
        return _guarded(row, vapour, {"pressure": vapour.form}, "where the solution boils", notes)
    if water is not None:
        boiling = {"pressure": water.form, "most": ATMOSPHERE}
        return _guarded(row, water, boiling, "water's: the solution boils at no higher pressure", notes)
    return row.model_copy(update={"notes": [*notes, BOILING_UNSEEN]})


def _guarded(
    row: RecommendedValue, vapour: RecommendedValue, boiling: dict[str, Any], note: str, notes: list[str]
) -> RecommendedValue:
    rests_on = Input(id=vapour.id, digest=digest(vapour.plain()), note=note)
    return row.model_copy(
        update={"form": {**row.form, "boiling": boiling}, "inputs": [*row.inputs, rests_on], "notes": notes or None}
    )


def _unfrozen(row: RecommendedValue, freezing: RecommendedValue | None) -> bool:
    """Whether a row refuses frozen states, or begins above the freezing point of every strength it knows."""
    if "freezing" in row.form:
        return True
    temperature, strength = row.domain["temperature"], row.domain["strength"]
    if freezing is None or not isinstance(temperature, PrintedInterval) or not isinstance(strength, PrintedInterval):
        return False
    known = freezing.domain["strength"]
    assert isinstance(known, PrintedInterval)  # noqa: S101 - a curve of freezing points has printed ends
    low, high = printed_number(strength.low), printed_number(strength.high)
    if low < printed_number(known.low) or high > printed_number(known.high):
        return False
    form = ScaledPolynomial(freezing.form, EXACT)
    warmest = max(form.value(low + (high - low) * step / STEPS) for step in range(STEPS + 1))
    return float(warmest) <= printed_number(temperature.low)
