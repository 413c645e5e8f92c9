"""A job to fill in: what is needed for a kind of job, each with its words and an example, and all that can be added.

Blanks are texts without a letter in them; a blank counts as not told (`refdb.job.words`).
"""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import BaseModel

from refdb.job.models import Access, FlowRange, Heat, Job, Lining, Liquid, Mounted, Pipe, Sensors
from refdb.problems import BadParameter

NEEDED: tuple[tuple[str, str, str], ...] = (
    ("title", "Make-up water, pump house", "What the sheet is called."),
    ("liquid.substance", "water", ""),
    ("liquid.temperature", "18 degC", "At the sensors."),
    ("pipe.material", "carbon-steel", "Of the wall; `refdb find TEXT` tells the names."),
    ("pipe.outside_diameter", "219.1 mm", ""),
    ("pipe.wall", "6.3 mm", ""),
    ("sensors.angle", "38 deg", ""),
    ("sensors.speed", "2450 m/s", ""),
    ("sensors.frequency", "1 MHz", "Of the sensors."),
    ("sensors.passes", "2", "How often the sound crosses the liquid."),
)
PLACE: tuple[tuple[str, str, str], ...] = (
    ("access.upstream", "20", ""),
    ("access.disturbance", "bend", "What stands before that length."),
    ("access.orientation", "horizontal", "How the pipe runs."),
    ("access.full", "yes", "Whether it always runs full."),
    ("liquid.gas_bubbles", "no", "Whether there are any."),
    ("liquid.solids", "no", "Whether there are any."),
)
FLOW: tuple[tuple[str, str, str], ...] = (("flow.normal", "90 m3/h", ""), ("flow.accuracy", "3 %", ""))
HEAT: tuple[tuple[str, str, str], ...] = (
    ("heat.supply", "38 degC", "Temperature of the supply."),
    ("heat.return", "18 degC", "Temperature of the return."),
    ("heat.meter_in", "return", "The line in which the sensors stand."),
)
MOUNTED: tuple[tuple[str, str, str], ...] = (
    ("sensors.spacing_set", "191 mm", ""),
    ("mounted.sound_speed", "1478 m/s", "As the instrument shows it."),
    ("mounted.zero_difference", "0.2 ns", ""),
    ("mounted.time_difference", "61 ns", ""),
    ("mounted.flow", "88 m3/h", "As the instrument shows it."),
)
KINDS = {
    "spacing": (NEEDED, "where the sensors go"),
    "flow": ((*NEEDED, *FLOW, *PLACE), "how much flows, and how wrong the reading can be"),
    "heat": ((*NEEDED, *FLOW, *PLACE, *HEAT), "the same, and the heat that it carries"),
    "check": ((*NEEDED, *FLOW, *PLACE, *MOUNTED), "the same, and what the instrument showed after mounting"),
}
"""By kind: what is asked, as member, example and words, and what the kind is for."""
SECTIONS: dict[str, type[BaseModel]] = {
    "flow": FlowRange,
    "liquid": Liquid,
    "pipe": Pipe,
    "access": Access,
    "sensors": Sensors,
    "heat": Heat,
    "mounted": Mounted,
}
NUMBERS = frozenset({"sensors.passes", "access.upstream"})


def starter(kind: str) -> str:
    """A TOML file to fill in.

    Raises:
        BadParameter: there is no such kind.
    """
    if kind not in KINDS:
        told = "; ".join(f"{name}: {words}" for name, (_, words) in KINDS.items())
        raise BadParameter(f"new: there is no kind '{kind}' of job; there are {told}.", parameter="new", given=kind)
    return "\n".join(_lines(kind)) + "\n"


def _lines(kind: str) -> Iterator[str]:
    asked, purpose = KINDS[kind]
    yield f"# A job to fill in: {purpose}. Put a value between the quotation marks; the examples are invented."
    yield '# A number has its unit: "219.1 mm". Leave a blank as it is, or take the line out, where nothing is known:'
    yield "# refdb then says what it takes for granted, or what is missing. Then: refdb job THIS-FILE"
    yield ""
    yield from (_asked(*one) for one in asked if "." not in one[0])
    for section, model in SECTIONS.items():
        mine = [one for one in asked if one[0].startswith(f"{section}.")]
        if not mine:
            continue
        yield ""
        yield f"[{section}]"
        yield from (_asked(*one) for one in mine)
        taken = {one[0].partition(".")[2] for one in mine}
        yield "# Where it is known:"
        yield from _more(model, taken)
    if kind != "spacing":
        yield ""
    yield "# A lining inside the wall:"
    yield "# [pipe.lining]"
    yield from _more(Lining, set())


def _asked(member: str, example: str, words: str) -> str:
    section, _, name = member.rpartition(".")
    told = words or _words(SECTIONS[section] if section else Job, name)
    # Numbers have no blank: they begin with what is usual.
    value = example if member in NUMBERS else '""'
    return f"{name} = {value}  # {told} Example: {example}"


def _more(model: type[BaseModel], taken: set[str]) -> Iterator[str]:
    for own, field in model.model_fields.items():
        name = field.alias or own
        if name in taken or name == "lining":
            continue
        words = f"  # {field.description}" if field.description else ""
        yield f'# {name} = ""{words}'


def _words(model: type[BaseModel], name: str) -> str:
    field = next(field for own, field in model.model_fields.items() if name in {own, field.alias})
    return field.description or ""
