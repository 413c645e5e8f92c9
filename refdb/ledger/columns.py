"""The columns of the tables that a document's folder may hold, each with what goes into it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Columns:
    """The columns of one kind of table.

    Attributes:
        of: what a line of it is.
        text: every column with what goes into it.
        usual: those with which a new table begins.
    """

    of: str
    text: Mapping[str, str]
    usual: tuple[str, ...]

    @property
    def names(self) -> frozenset[str]:
        """The names of all columns."""
        return frozenset(self.text)


_COMMON = {
    "locator": "Where in the document: page, table, row. Needed.",
    "name_printed": "What the document calls it.",
    "basis": "measured, standard, evaluated, computed, derived or estimated; [defaults] of source.toml otherwise.",
    "seen": "original, archive, reproduction, library or memory; [defaults] of source.toml otherwise.",
    "flag": "misprint, suspect, wrong-kind or unclear-basis keep it out of recommended values; note does not.",
    "flag_text": "Why, with the numbers.",
    "note": "Anything else worth knowing.",
}
_NUMBER = {
    "value": "The number, digits and grouping as printed.",
    "low": "The lower end of a printed range.",
    "high": "The upper end of a printed range.",
}
_SCOPE = {
    "systems": "Ids of pipe systems, joined by |.",
    "standard": "The standard that sets it, with its edition where that is printed.",
    "designations": "Only pipes of these designations, joined by |.",
    "where": "Only these sizes, such as `DN <= 150` or `wall > 3 mm`; several joined by `; `.",
}
SIZE_COLUMNS = {"nps": "NPS", "dn": "DN", "od": "OD", "nominal": "nominal", "a": "A", "b": "B"}

READINGS = Columns(
    of="one printed value of a property of a subject",
    text={
        "id": "Subject, property and the next free number, joined by points.",
        "subject": "Its id in shared/subjects/.",
        "property": "Its id in shared/vocabulary/properties.toml.",
        **_NUMBER,
        "unit": "As printed, in a spelling that shared/vocabulary/units.toml knows.",
        "temperature": "`20 degC`, `15 to 25 degC`, `room temperature` or `not stated` (also where empty).",
        "temperature_scale": "ITS-90, IPTS-68 or IPTS-48, where the document says.",
        "pressure": "`101.325 kPa`, `1 to 2 bar`, `atmospheric`; empty where not stated.",
        "strength": "Of a solution: `30 % mass`, `0.3 kg/kg`.",
        "frequency": "Of a speed or an attenuation: `2 MHz`, `1 to 5 MHz`; empty where not stated.",
        "condition": "Its id in shared/vocabulary/conditions.toml.",
        "method": "Of an elastic constant: dynamic (by sound or vibration), static (by a load) or isothermal.",
        "uncertainty": "As stated.",
        "uncertainty_unit": "The value's unit otherwise.",
        "uncertainty_kind": "standard, expanded, maximum error, fit error or not stated.",
        **_COMMON,
    },
    usual=("id", "subject", "property", "value", "unit", "temperature", "locator", "name_printed", "flag", "flag_text"),
)
PIPES = Columns(
    of="one printed pipe",
    text={
        "id": "Pipe and the next free number, joined by a point.",
        "pipe": "Its id, which begins with its system.",
        "system": "Its id in shared/vocabulary/systems.toml.",
        **{column: f"The size by {word}, as printed." for column, word in SIZE_COLUMNS.items()},
        "designations": "Schedules, series or classes, joined by |.",
        "outside_diameter": "As printed.",
        "outside_diameter_is": "minimum, maximum or approximate; empty where it is the nominal one.",
        "wall": "As printed; empty where the document lists diameters only.",
        "wall_is": "minimum or average; empty where it is the nominal one.",
        "inside_diameter": "As printed.",
        "unit": "Of all three.",
        **_COMMON,
    },
    usual=("id", "pipe", "system", "dn", "designations", "outside_diameter", "wall", "unit", "locator"),
)
ROUGHNESS = Columns(
    of="one printed roughness of a surface",
    text={
        "id": "`roughness`, surface and the next free number, joined by points.",
        "surface": "Its id in shared/vocabulary/surfaces.toml.",
        "condition_printed": "Age or state, in the document's words.",
        **_NUMBER,
        "unit": "As printed.",
        **_COMMON,
    },
    usual=("id", "surface", "name_printed", "condition_printed", "value", "low", "high", "unit", "locator"),
)
TOLERANCES = Columns(
    of="one printed tolerance of a dimension",
    text={
        "id": "Tolerance and the next free number, joined by a point.",
        "tolerance": "Its id.",
        "quantity": "outside_diameter or wall.",
        "minus": "How far below: `12.5 %`, `1 % or 0.5 mm` (the greater), `at 0.401 in` (the limit), `no limit`.",
        "plus": "How far above, in the same way.",
        **_SCOPE,
        **_COMMON,
    },
    usual=("id", "tolerance", "systems", "standard", "quantity", "minus", "plus", "where", "locator"),
)
LININGS = Columns(
    of="one printed thickness of a lining or a coating",
    text={
        "id": "Lining and the next free number, joined by a point.",
        "lining": "Its id.",
        "material": "Its id in shared/subjects/.",
        "side": "inside or outside.",
        **_NUMBER,
        "minimum": "The least thickness at any point.",
        "unit": "As printed.",
        **_SCOPE,
        **_COMMON,
    },
    usual=("id", "lining", "material", "side", "systems", "standard", "value", "minimum", "unit", "where", "locator"),
)
TABLES: Mapping[str, Columns] = {
    "readings": READINGS, "pipes": PIPES, "roughness": ROUGHNESS, "tolerances": TOLERANCES, "linings": LININGS,
}  # fmt: skip
"""The tables by the name of their file, without `.csv`."""
