"""`sources/rules/solid-temperature.toml`: how far speeds and densities of solids reach in temperature, and why."""

from __future__ import annotations

from dataclasses import dataclass

from pydantic import BaseModel, ConfigDict

from refdb.recommend.rule_text import RuleText
from refdb.records.models import PrintedInterval, PrintedNumber, RecordId, Words


class _Text(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class SlopeWidths(_Text):
    """What a slope is off by.

    Attributes:
        printed: relative standard uncertainty of a slope that a document prints without one, or that its moduli give.
        extrapolation: by what part of it the mean slope from 20 degC to the end of a row's range differs from that at
            20 degC.
        room: standard uncertainty in K of the temperature of readings that are said to be at room temperature.
    """

    printed: PrintedNumber
    extrapolation: PrintedNumber
    room: PrintedNumber
    reason: Words


class StrainLaw(_Text):
    """Moduli that a document prints as M0 exp(-k e) of the thermal strain e, held in two points of a table.

    Attributes:
        readings: the tables.
        strain: the volumetric strain between the two points, as the document prints it in percent.
    """

    readings: list[RecordId]
    strain: PrintedNumber
    reason: Words


class SlopeSetAside(_Text):
    """Moduli over temperature that are not followed, and why."""

    readings: list[RecordId]
    reason: Words


class SharedSlope(_Text):
    """Materials whose relative slope is that of others, which differ from it by a part of it."""

    of: list[RecordId]
    subjects: list[RecordId]
    difference: PrintedNumber
    reason: Words


class TemperatureGroup(_Text):
    """What a group of families does with the temperature, where nothing is known of a member by itself.

    Attributes:
        temperature: where rows hold.
        cubic: whether their relative slopes go with their thermal expansion, as those of cubic metals do.
        slope: the change of both speeds per kelvin, relative, where they do not; none where not even its sign is known.
        slope_uncertainty: its standard uncertainty, or what a kelvin adds where there is no slope.
        expansion: between what their linear expansions lie, where no row tells one.
    """

    members: list[RecordId]
    temperature: PrintedInterval
    cubic: bool = False
    slope: PrintedNumber | None = None
    slope_uncertainty: PrintedNumber | None = None
    expansion: PrintedInterval
    reason: Words


class TemperatureReach(_Text):
    """Materials whose rows end elsewhere than those of their family: at softening, at a transition."""

    subjects: list[RecordId]
    temperature: PrintedInterval
    reason: Words


class Untold(_Text):
    """Materials that no slope of others fits: their rows stay at room temperature."""

    subjects: list[RecordId]
    reason: Words


@dataclass(frozen=True)
class TemperaturePolicy:
    """What rule solid-temperature/1 needs beside readings and rows."""

    widths: SlopeWidths
    strain_laws: tuple[StrainLaw, ...] = ()
    set_aside: tuple[SlopeSetAside, ...] = ()
    shared: tuple[SharedSlope, ...] = ()
    groups: tuple[TemperatureGroup, ...] = ()
    reaches: tuple[TemperatureReach, ...] = ()
    untold: tuple[Untold, ...] = ()

    def group(self, family: str) -> TemperatureGroup | None:
        """What is written of a family."""
        return next((entry for entry in self.groups if family in entry.members), None)

    def is_untold(self, subject: str) -> bool:
        """Whether a material's rows stay at room temperature."""
        return any(subject in entry.subjects for entry in self.untold)

    def reach(self, subject: str, group: TemperatureGroup) -> tuple[PrintedInterval, str]:
        """Where a material's rows hold, and why."""
        own = next((entry for entry in self.reaches if subject in entry.subjects), None)
        return (group.temperature, group.reason) if own is None else (own.temperature, own.reason)

    def shared_by(self, subject: str) -> SharedSlope | None:
        """The entry by which a material takes the slope of others."""
        return next((entry for entry in self.shared if subject in entry.subjects), None)


def temperature_policy(text: RuleText) -> TemperaturePolicy | None:
    """The part of the rules' text that is about solids at other temperatures; None where there is none."""
    widths = text.table(SlopeWidths, "slope_widths")
    if widths is None:
        return None
    return TemperaturePolicy(
        widths=widths,
        strain_laws=tuple(text.listed(StrainLaw, "strain_law")),
        set_aside=tuple(text.listed(SlopeSetAside, "slope_set_aside")),
        shared=tuple(text.listed(SharedSlope, "shared_slope")),
        groups=tuple(text.listed(TemperatureGroup, "temperature_group")),
        reaches=tuple(text.listed(TemperatureReach, "temperature_reach")),
        untold=tuple(text.listed(Untold, "temperature_untold")),
    )
