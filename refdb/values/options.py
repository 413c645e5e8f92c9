"""How an answer is asked for: units, estimates, layers. Checked in one place for every surface."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal, cast

from refdb.problems import BadParameter, UnknownName
from refdb.questions.groups import ACCEPTED, LAYERS, SYSTEMS
from refdb.units import Unit, units
from refdb.vocabulary import properties

UnitSystem = Literal["si", "us"]


@dataclass(frozen=True, slots=True)
class Options:
    """Choices common to reads."""

    system: UnitSystem = "si"
    units: Mapping[str, str] = field(default_factory=dict)
    estimates: bool = False
    house: bool = False

    def unit_for(self, property_id: str, own: Unit) -> Unit:
        """The unit in which a property is answered: the one asked for, the system's, or the row's own."""
        definition = properties()[property_id]
        spelling = self.units.get(property_id)
        if spelling is not None:
            return units().find(spelling, definition["dimension"])
        if self.system == "us":
            return units().find(definition["us"], definition["dimension"])
        return own


SI = Options()
ESTIMATE_RUNGS = frozenset({"analogue", "family", "memory"})
"""What nobody published, given with accept=estimates alone."""


def read_options(
    unit_system: str | None = None,
    unit: Mapping[str, str] | None = None,
    accept: str | None = None,
    layers: str | None = None,
) -> Options:
    """The options from their text.

    Args:
        unit_system: `si` or `us`.
        unit: property to unit spelling.
        accept: `estimates`, or nothing.
        layers: `release`, or `house,release`: an organisation's own values first.

    Raises:
        BadParameter: a choice is not one of those offered.
        UnknownName: a unit is asked for a property that does not exist.
        UnknownUnit, WrongDimension: a unit is not known or measures something else than its property.
    """
    _one_of("units", unit_system, SYSTEMS)
    _one_of("accept", accept, ACCEPTED)
    _one_of("layers", layers, LAYERS)
    for property_id, spelling in (unit or {}).items():
        if property_id not in properties():
            raise UnknownName(
                f"unit: there is no property '{property_id}'; there are {', '.join(properties())}.",
                parameter="unit",
                given=property_id,
                candidates=list(properties()),
            )
        units().find(spelling, properties()[property_id]["dimension"], "unit")
    system = cast(UnitSystem, unit_system or "si")
    return Options(system, dict(unit or {}), accept == "estimates", layers == LAYERS[1])


_CHOICES = frozenset({"unit", "units", "accept", "layers"})


def options_of(asked: object) -> Options:
    """The options that a question asks for, by those of its fields that are `unit`, `units`, `accept` and `layers`.

    Raises:
        BadParameter, UnknownName, UnknownUnit, WrongDimension: as `read_options`.
    """
    # A question holds what is given, and nothing else.
    if _CHOICES.isdisjoint(vars(asked)):
        return SI
    unit = getattr(asked, "unit", ())
    units, accept, layers = (getattr(asked, name, None) for name in ("units", "accept", "layers"))
    return read_options(units, unit if isinstance(unit, Mapping) else read_unit_choices(unit), accept, layers)


def require_release_only(options: Options, what: str) -> None:
    """Nothing, if the question is about releases alone.

    Raises:
        BadParameter: house values are asked for where only a release answers.
    """
    if options.house:
        raise BadParameter(
            f"layers: {what} from a release alone; leave layers out, and ask for house values as values of one subject "
            "at one state.",
            parameter="layers",
            accepted=[LAYERS[0]],
        )


def read_unit_choices(texts: Iterable[str]) -> dict[str, str]:
    """`density:lb/ft3` texts as a mapping.

    Raises:
        BadParameter: a text has no colon, or names a property twice.
    """
    chosen: dict[str, str] = {}
    for text in texts:
        property_id, colon, spelling = text.partition(":")
        if not colon or property_id in chosen:
            raise BadParameter(
                f"unit: '{text}' should be a property, a colon and a unit, once per property, as in density:lb/ft3.",
                parameter="unit",
                given=text,
            )
        chosen[property_id] = spelling
    return chosen


def _one_of(name: str, given: str | None, choices: tuple[str, ...]) -> None:
    if given is not None and given not in choices:
        raise BadParameter(
            f"{name}: '{given}' is not offered; write {' or '.join(choices)}.",
            parameter=name,
            given=given,
            accepted=list(choices),
        )
