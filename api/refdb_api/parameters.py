"""Query parameters: described once, in a table, and read from that table.

A route names the parameters it takes; the same descriptions make the OpenAPI document, so a parameter cannot be read
without being documented. (Declaring each of them to FastAPI instead costs half the speed of a small answer.)
"""

from __future__ import annotations

import base64
import binascii
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import parse_qsl

from fastapi import Request

from refdb.problems import BadParameter
from refdb.units import printable, whole_number
from refdb.values.options import LAYERS

STATUSES = ("draft", "reviewed", "withdrawn")
MOST_ITEMS = 500
USUAL_ITEMS = 100


@dataclass(frozen=True, slots=True)
class Parameter:
    """One query parameter."""

    name: str
    description: str
    example: str
    repeatable: bool = False
    choices: tuple[str, ...] = ()

    def document(self, required: bool) -> dict[str, Any]:
        """The parameter in OpenAPI's words."""
        schema: dict[str, Any] = {"type": "string"}
        if self.choices:
            schema["enum"] = list(self.choices)
        if self.repeatable:
            schema = {"type": "array", "items": schema}
        return {
            "name": self.name,
            "in": "query",
            "required": required,
            "description": self.description,
            "schema": schema,
            "example": [self.example] if self.repeatable else self.example,
        }


PARAMETERS: dict[str, Parameter] = {
    parameter.name: parameter
    for parameter in (
        Parameter("q", "What to look for: a name, a designation, a pipe, a source.", "1.4404"),
        Parameter("subject", "A subject by any exact name or designation.", "water"),
        Parameter("property", "A property, repeatable. Without one, all are answered.", "sound_speed", repeatable=True),
        Parameter("temperature", "Such as 20 degC; a liquid needs one. In a table: 0..100 step 5 degC.", "20 degC"),
        Parameter("pressure", "A quantity, absolute or gauge, such as 3 bar(g). 1 atm when not given.", "1 atm"),
        Parameter("salinity", "Of sea water: absolute salinity in g/kg, or practical salinity in psu.", "35 psu"),
        Parameter("strength", "Of a solution: % mass, % vol, mol/kg, ..., or its measured density.", "30 % mass"),
        Parameter("to", "The unit to tell a strength in; all that can be told when not given.", "% vol"),
        Parameter("condition", "A condition of the material that readings tell apart, such as annealed.", "annealed"),
        Parameter("unit", "PROPERTY:UNIT, the unit of a property; repeatable.", "density:lb/ft3", repeatable=True),
        Parameter("units", "The system of units to answer in.", "si", choices=("si", "us")),
        Parameter("accept", "estimates: also give values that nobody published.", "estimates", choices=("estimates",)),
        Parameter("layers", "Where values may come from; house,release needs a key.", "release", choices=LAYERS),
        Parameter("status", "Only house values whose newest version has this status.", "reviewed", choices=STATUSES),
        Parameter("release", "Answer from this release; the newest by default.", "2026r1"),
        Parameter("as_of", "Answer from the newest release cut on or before this UTC date.", "2026-12-31"),
        Parameter("since", "The older release; the one before by default.", "2026r1"),
        Parameter("source", "Only what this source says.", "astm-e494"),
        Parameter("system", "A pipe system by id or name.", "b36.10"),
        Parameter("size", "A size in the trade's words: NPS 8, 2 1/2, DN200.", "NPS 8"),
        Parameter("designation", "A wall in the trade's words: 40, Sch 40, STD.", "40"),
        Parameter("material", "A material or a surface by exact name.", "carbon-steel"),
        Parameter("circumference", "Of a pipe, by a tape around it.", "690 mm"),
        Parameter("outside_diameter", "Of a pipe, by calipers; repeat it for several readings.", "219.3 mm", True),
        Parameter("wall", "Of a pipe, by a thickness gauge; repeat it for several readings.", "8.1 mm", True),
        Parameter("wall_points", "Of how many points a single wall reading is the mean.", "4"),
        Parameter("tape_thickness", "Of the tape around the pipe; 0 to 0.2 mm when not given.", "0.15 mm"),
        Parameter("coating", "Thickness of the paint or coating on the pipe; none when not given.", "0.3 mm"),
        Parameter("lining", "Thickness of the lining; the measured bore is without it when not given.", "4 mm"),
        Parameter("circumference_uncertainty", "Standard uncertainty of the tape's reading.", "1 mm"),
        Parameter("outside_diameter_uncertainty", "Standard uncertainty of the mean of the readings.", "0.2 mm"),
        Parameter("wall_uncertainty", "Standard uncertainty of the mean of the wall readings.", "0.1 mm"),
        Parameter("gauge_speed", "The speed the thickness gauge was set to; the wall is corrected by it.", "5920 m/s"),
        Parameter("material_speed", "Longitudinal speed of the pipe's material; its row's when not given.", "5890 m/s"),
        Parameter("gauge_reads_coating", "Whether the wall holds the coating too.", "no", choices=("yes", "no")),
        Parameter("sound_speed", "Of the liquid in the pipe, as measured.", "1482 m/s"),
        Parameter("sound_speed_uncertainty", "Standard uncertainty; 0.5 % of it when not given.", "3 m/s"),
        Parameter("temperature_uncertainty", "Standard uncertainty; of a match 0.5 K when not given.", "0.5 K"),
        Parameter("liquid", "Ask at which temperature this liquid has the sound speed.", "water"),
        Parameter("solution", "Ask at which strength or salinity this liquid has the sound speed.", "seawater"),
        Parameter("dimension", "Only units of this dimension.", "pressure"),
        Parameter("thickness", "Of the part where the probe stands.", "12.50 mm"),
        Parameter("thickness_uncertainty", "The standard uncertainty of the thickness.", "0.02 mm"),
        Parameter("echo_time", "From the first echo of the back wall to the n-th after it.", "4.23 us"),
        Parameter("echo_time_uncertainty", "The standard uncertainty of the echo time.", "0.01 us"),
        Parameter("echoes", "How many round trips the echo time is; 1 by default.", "1"),
        Parameter("travel_time", "Through a liquid, without delays, or the difference over two paths.", "67.5 us"),
        Parameter("travel_time_uncertainty", "The standard uncertainty of the travel time.", "0.05 us"),
        Parameter("path", "Through the liquid, or the difference of two paths.", "100 mm"),
        Parameter("path_uncertainty", "The standard uncertainty of the path.", "0.1 mm"),
        Parameter("water_time", "The travel time with water in the same vessel, in place of the path.", "67.4 us"),
        Parameter("water_time_uncertainty", "The standard uncertainty of the travel time in water.", "0.05 us"),
        Parameter("continuous", "The liquid that carries particles or drops.", "water"),
        Parameter("dispersed", "A liquid that does not mix with it, or a material.", "toluene"),
        Parameter("fraction", "Of what is dispersed: % vol or % mass.", "10 % vol"),
        Parameter("fraction_uncertainty", "Standard uncertainty, on the same basis; 0 when not given.", "0.5 % vol"),
        Parameter("solid_density", "Of a solid given by its own numbers, in place of dispersed.", "2600 kg/m3"),
        Parameter("solid_density_uncertainty", "Standard uncertainty; 0 when not given.", "50 kg/m3"),
        Parameter("solid_compressibility", "Adiabatic; or both speeds of the solid.", "27 1/TPa"),
        Parameter("solid_compressibility_uncertainty", "Standard uncertainty; 0 when not given.", "3 1/TPa"),
        Parameter("solid_longitudinal_speed", "With solid_shear_speed, for its compressibility.", "5900 m/s"),
        Parameter("solid_longitudinal_speed_uncertainty", "Standard uncertainty; 0 when not given.", "50 m/s"),
        Parameter("solid_shear_speed", "With solid_longitudinal_speed.", "3760 m/s"),
        Parameter("solid_shear_speed_uncertainty", "Standard uncertainty; 0 when not given.", "50 m/s"),
        Parameter("particle_size", "Diameter of particles or drops; narrows the uncertainty.", "5 um"),
        Parameter("frequency", "Of the sound; narrows the uncertainty.", "1 MHz"),
        Parameter("speed_unit", "The unit of the speed; m/s by default.", "m/s"),
        Parameter("limit", f"At most this many items, 1 to {MOST_ITEMS}; {USUAL_ITEMS} by default.", "100"),
        Parameter("next", "The opaque mark that the previous page gave as next.", "MjAyNnIxOjEwMA"),
    )
}  # fmt: skip

PATH_PARAMETERS: dict[str, tuple[str, str]] = {
    "name": ("A subject by any exact name or designation.", "carbon-steel"),
    "pipe_id": ("The row id of a pipe.", "b36.10-nps-8-sch-40"),
    "key": ("The key of a source.", "astm-e494"),
    "row_id": ("The id of a row.", "water.sound_speed"),
    "label": ("The label of a release.", "2026r1"),
    "value_id": ("The id of a house value.", "8cf41116-4e71-4d25-8d5a-6848b2e23952"),
    "version": ("The number of a version of a house value.", "1"),
    "scope": ("What is audited: liquids or solids.", "liquids"),
}
"""Parts of a path: description and example. Handlers read them from the request, as cheaply as the query."""

RELEASE = ("release", "as_of")
PAGE = ("limit", "next")
STATE = ("temperature", "pressure", "salinity", "strength")
CHOICES = ("unit", "units", "accept", "layers")


class Query:
    """The parameters of one request, checked against those its route takes."""

    __slots__ = ("_given",)

    def __init__(self, given: Mapping[str, list[str]]) -> None:
        self._given = given

    def one(self, name: str) -> str | None:
        """The parameter's text, or None."""
        texts = self._given.get(name)
        return texts[0] if texts is not None else None

    def any_of(self, names: frozenset[str]) -> bool:
        """Whether any of the parameters is given."""
        return not names.isdisjoint(self._given)

    def required(self, name: str) -> str:
        """The parameter's text.

        Raises:
            BadParameter: it is missing.
        """
        texts = self._given.get(name)
        if texts is None:
            parameter = PARAMETERS[name]
            raise BadParameter(f"{name}: is missing; write it, as in {name}={parameter.example}.", parameter=name)
        return texts[0]

    def many(self, name: str) -> list[str]:
        """Every text of a repeatable parameter."""
        return self._given.get(name, [])


def read_query(request: Request, allowed: frozenset[str]) -> Query:
    """The query of a request.

    Raises:
        BadParameter: a parameter is not one of the route's, or is repeated where it may not be.
    """
    given: dict[str, list[str]] = {}
    # As Starlette's own query_params, without the mapping that it builds for lookups we do not make.
    for name, text in parse_qsl(request.scope["query_string"].decode("latin-1"), keep_blank_values=True):
        if name not in allowed:
            raise BadParameter(
                f"{name}: this route takes no such parameter; it takes {', '.join(sorted(allowed)) or 'none'}.",
                parameter=name,
                accepted=sorted(allowed),
            )
        if name in given and not PARAMETERS[name].repeatable:
            raise BadParameter(f"{name}: is given twice; give it once.", parameter=name)
        given.setdefault(name, []).append(text)
    return Query(given)


@dataclass(frozen=True, slots=True)
class Page:
    """Which part of a list is wanted."""

    start: int
    limit: int


def read_page(query: Query, release: str) -> Page:
    """The part of a list that `limit` and `next` ask for.

    Raises:
        BadParameter: `limit` is not a number in range, or `next` is not a mark of this release.
    """
    mark = query.one("next")
    return Page(_start(mark, release) if mark is not None else 0, read_limit(query, USUAL_ITEMS))


def read_limit(query: Query, usual: int) -> int:
    """How many items are wanted at most.

    Raises:
        BadParameter: `limit` is not a number in range.
    """
    text = query.one("limit")
    if text is None:
        return usual
    limit = whole_number(text)
    if limit is None or not 1 <= limit <= MOST_ITEMS:
        shown = printable(text)
        raise BadParameter(
            f"limit: '{shown}' is not a whole number from 1 to {MOST_ITEMS}; write one, or leave it out.",
            parameter="limit",
            given=shown,
        )
    return limit


def next_mark(page: Page, total: int, release: str) -> str | None:
    """The opaque mark of the following page, or None at the end."""
    following = page.start + page.limit
    if following >= total:
        return None
    return base64.urlsafe_b64encode(f"{release}:{following}".encode()).decode("ascii").rstrip("=")


def _start(mark: str, release: str) -> int:
    try:
        label, _, start = base64.urlsafe_b64decode(mark + "=" * (-len(mark) % 4)).decode("ascii").partition(":")
        place = whole_number(start) if label == release else None
    except (binascii.Error, UnicodeError, ValueError):
        place = None
    if place is not None:
        return place
    raise BadParameter(
        f"next: is not a mark of a list of release {release}; take it from the previous page.",
        parameter="next",
        given=printable(mark),
    )
