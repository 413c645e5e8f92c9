"""A pipe looked up in its standard's own words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast
from urllib.parse import quote

from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.pipes.tolerance import NominalPipe, ToleranceAnswer, tolerance_of
from refdb.pipes.words import designated, of_size
from refdb.problems import AmbiguousName, NotAvailable, Problem, UnknownName
from refdb.records import printed_number
from refdb.records.names import normal_name
from refdb.units import Quantity, Unit, units
from refdb.values.citation import cited, standing
from refdb.values.options import ESTIMATE_RUNGS, SI, Options
from refdb.vocabulary import systems

if TYPE_CHECKING:
    from refdb.documents import SourceReference
    from refdb.pipes.documents import DiameterKind, PipeDocument, PrintedDimensionsDocument, ToleranceDocument, WallKind


CAUTION = (
    "Nominal dimensions, for measuring flow and not for pressure design; measure the wall before trusting the bore."
)
RECALLED = "From memory: no document that prints this pipe was seen; check it before use."
# Where several kinds of wall are printed, the one that the pipe is likeliest to have.
_KINDS_OF_WALL = ("nominal", "average", "minimum", None)
_KINDS_OF_DIAMETER = ("nominal", "approximate", "minimum", "maximum")
_NOT_NOMINAL = {
    "minimum": "the printed wall is the least allowed; a real one is thicker",
    "average": "the printed wall is an average",
}


@dataclass(slots=True)
class PipeAnswer:
    """One pipe: outside diameter, wall and bore as its standard prints them.

    `units=us` gives the printed inches, `units=si` the printed millimetres; a number is converted only where its unit
    is not printed, and then it says so.

    Attributes:
        printed_wall: None where the document prints neither a wall nor an inside diameter.
        wall_is: `nominal`, `minimum` or `average`; None without a wall.
        tolerance: the limits of `outside_diameter` and `wall`, as far as a standard seen gives any.
    """

    record: StoredRecord
    sources: list[SourceReference]
    release: str
    outside_diameter: Quantity
    outside_diameter_is: DiameterKind
    printed_wall: Quantity | None
    wall_is: WallKind | None
    tolerance: dict[str, ToleranceAnswer | None]
    assumptions: tuple[str, ...]

    @property
    def id(self) -> str:
        """The row's id."""
        return self.record.id

    @property
    def wall(self) -> Quantity:
        """The wall.

        Raises:
            NotAvailable: only an outside diameter is printed.
        """
        if self.printed_wall is None:
            raise NotAvailable(
                f"wall: no document seen prints a wall for {self.id}; measure it.",
                parameter="wall",
                given=self.id,
                estimate_available=False,
            )
        return self.printed_wall

    @property
    def bore(self) -> Quantity:
        """Outside diameter less twice the wall.

        Raises:
            NotAvailable: only an outside diameter is printed.
        """
        return Quantity(self.outside_diameter.magnitude - 2.0 * self.wall.magnitude, self.outside_diameter.unit)

    @property
    def permalink(self) -> str:
        """A path that gives this same answer for as long as the release exists."""
        units_asked = "&units=us" if self.outside_diameter.unit.symbol == "in" else ""
        recalled = "&accept=estimates" if self.record.body["rung"] in ESTIMATE_RUNGS else ""
        return f"/v1/pipes/{quote(self.id)}?release={self.release}{units_asked}{recalled}"

    def document(self) -> PipeDocument:
        """The pipe as plain JSON values."""
        body = self.record.body
        system = systems()[body["system"]]
        walled = self.printed_wall is not None
        return {
            "id": self.id,
            "system": {
                "id": body["system"],
                "name": system["name"],
                "standard": system["standard"],
                "edition": system["edition"],
            },
            "size": body["size"],
            "designations": body["designations"],
            "outside_diameter": self.outside_diameter.document(),
            "outside_diameter_is": self.outside_diameter_is,
            "wall": self.wall.document() if walled else None,
            "wall_is": self.wall_is,
            "bore": self.bore.document() if walled else None,
            "tolerance": {
                "outside_diameter": _limits(self.tolerance["outside_diameter"]),
                "wall": _limits(self.tolerance["wall"]),
            },
            "printed": [_printed(entry) for entry in body["dimensions"]],
            **standing(body, self.id, self.record.digest, self.sources),
            "release": self.release,
            "permalink": self.permalink,
            "assumptions": list(self.assumptions),
            "warnings": [CAUTION, RECALLED] if body["rung"] == "memory" else [CAUTION],
        }


def _limits(answer: ToleranceAnswer | None) -> ToleranceDocument | None:
    return answer.document() if answer is not None else None


def _printed(entry: dict[str, Any]) -> PrintedDimensionsDocument:
    # The record format says which members a print has.
    return cast("PrintedDimensionsDocument", {key: text for key, text in entry.items() if key != "readings"})


def pipe_answer(
    store: ReleaseStore,
    record: StoredRecord,
    release: ReleaseInfo,
    options: Options,
    assumptions: tuple[str, ...] = (),
) -> PipeAnswer:
    """A pipe's record as an answer in the printed unit that the options ask for."""
    wanted = units().find("in" if options.system == "us" else "mm", "length")
    printed = printed_dimensions(record, wanted)
    nominal = printed.nominal(record)
    wall = printed.wall
    return PipeAnswer(
        record,
        cited(store, record.body["inputs"], release),
        release.label,
        Quantity(printed.unit.to(printed.outside_diameter, wanted), wanted),
        printed.outside_diameter_is,
        Quantity(printed.unit.to(wall, wanted), wanted) if wall is not None else None,
        printed.wall_is,
        tolerances(store, release, record.body["system"], nominal, wanted),
        assumptions + printed.notes,
    )


@dataclass(frozen=True, slots=True)
class LikeliestPrint:
    """The print of a pipe that is answered, in the unit it is printed in, and what choosing it took for granted."""

    outside_diameter: float
    outside_diameter_is: DiameterKind
    wall: float | None
    wall_is: WallKind | None
    unit: Unit
    notes: tuple[str, ...]

    def nominal(self, record: StoredRecord) -> NominalPipe:
        """The pipe as the conditions of tolerances see it; lengths in metres."""
        scale = self.unit.scale
        wall = self.wall * scale if self.wall is not None else None
        return NominalPipe(record.body["size"], record.body["designations"], self.outside_diameter * scale, wall)


def printed_dimensions(record: StoredRecord, wanted: Unit) -> LikeliestPrint:
    """The print of a pipe that is likeliest to be what it has, in the wanted unit where one is in it."""
    entry = _likeliest(record.body["dimensions"], wanted.symbol)
    own = units().find(entry["unit"], "length")
    notes = []
    if entry["unit"] != wanted.symbol:
        notes.append(f"no {wanted.symbol} printed by a source seen: converted from {entry['unit']}")
    outside = printed_number(entry["outside_diameter"])
    diameter_is, wall_is = entry.get("outside_diameter_is", "nominal"), _kind_of_wall(entry)
    wall = printed_number(entry["wall"]) if "wall" in entry else None
    if wall is None and "inside_diameter" in entry:
        wall, wall_is = (outside - printed_number(entry["inside_diameter"])) / 2.0, "nominal"
        notes.append("no wall is printed: it is half of what the printed diameters differ by")
    if diameter_is != "nominal":
        notes.append(f"the printed outside diameter is {_DIAMETERS[diameter_is]}")
    if wall_is in _NOT_NOMINAL:
        notes.append(_NOT_NOMINAL[wall_is])
    return LikeliestPrint(outside, diameter_is, wall, wall_is, own, tuple(notes))


_DIAMETERS = {
    "minimum": "the least allowed",
    "maximum": "the greatest allowed",
    "approximate": "approximate",
}


def _likeliest(dimensions: list[dict[str, Any]], symbol: str) -> dict[str, Any]:
    """The print in the unit that is asked for, and of the kind that the pipe is likeliest to have."""
    return min(
        dimensions,
        key=lambda entry: (
            entry["unit"] != symbol,
            _KINDS_OF_WALL.index(_kind_of_wall(entry)),
            _KINDS_OF_DIAMETER.index(entry.get("outside_diameter_is", "nominal")),
        ),
    )


def _kind_of_wall(entry: dict[str, Any]) -> WallKind | None:
    return entry.get("wall_is", "nominal") if "wall" in entry else None


def tolerances(
    store: ReleaseStore, release: ReleaseInfo, system_id: str, pipe: NominalPipe, unit: Unit
) -> dict[str, ToleranceAnswer | None]:
    """The limits of a pipe's outside diameter and wall, by the first of its system's standards that gives any."""
    standards = systems()[system_id].get("tolerances", [])
    return {
        quantity: tolerance_of(store, release, system_id, standards, pipe, quantity, unit)
        for quantity in ("outside_diameter", "wall")
    }


def pipe_with_id(store: ReleaseStore, pipe_id: str, release: ReleaseInfo, options: Options = SI) -> PipeAnswer:
    """The pipe with this row id.

    Raises:
        UnknownName: there is none.
        NotAvailable: it is only recalled, and estimates were not asked for.
    """
    record = store.record(pipe_id, release)
    if record is None or record.body["kind"] != "recommended-pipe":
        raise UnknownName(f"pipe: there is no pipe row '{pipe_id}'.", parameter="id", given=pipe_id)
    if not _served(record, options):
        raise _only_recalled(pipe_id)
    return pipe_answer(store, record, release, options)


def pipes_of(
    store: ReleaseStore,
    system: str | None,
    size: str | None,
    designation: str | None,
    release: ReleaseInfo,
    options: Options = SI,
) -> list[PipeAnswer]:
    """The pipes of a system, or of any, that have a size and a designation, in the trade's words.

    Raises:
        UnknownName: no system, size or designation is called so; those there are, are listed.
        BadParameter: the size is not a size word.
        NotAvailable: what fits is only recalled, and estimates were not asked for.
    """
    if system is None:
        return _pipes_anywhere(store, size, designation, release, options)
    system_id = system_named(system)
    members = store.of_system("recommended-pipe", system_id, release)
    if not members:
        raise UnknownName(
            f"system: release {release.label} has no pipes of {system_id}.", parameter="system", given=system
        )
    notes: tuple[str, ...] = ()
    if size is not None:
        members, notes = of_size(members, system_id, systems()[system_id], size)
    if designation is not None:
        members, more = designated(members, designation, size)
        notes += more
    served = [record for record in members if _served(record, options)]
    if not served:
        raise _only_recalled(", ".join(filter(None, (system_id, size, designation))))
    return [pipe_answer(store, record, release, options, notes) for record in sorted(served, key=_order)]


def _served(record: StoredRecord, options: Options) -> bool:
    return options.estimates or record.body["rung"] != "memory"


def _only_recalled(asked: str) -> NotAvailable:
    return NotAvailable(
        f"pipe: no document that prints {asked} was seen; what is recalled is given with accept=estimates.",
        parameter="accept",
        estimate_available=True,
    )


def _pipes_anywhere(
    store: ReleaseStore, size: str | None, designation: str | None, release: ReleaseInfo, options: Options
) -> list[PipeAnswer]:
    """The pipes of every system that has the size and the designation.

    Raises:
        UnknownName, BadParameter, NotAvailable: no system has; the sentence is that of the last one asked.
    """
    found: list[PipeAnswer] = []
    problem: Problem | None = None
    for system_id in systems():
        try:
            found += pipes_of(store, system_id, size, designation, release, options)
        except Problem as refused:
            problem = refused
    if not found and problem is not None:
        raise problem
    return found


def one_pipe(pipes: list[PipeAnswer], size: str) -> PipeAnswer:
    """The only pipe of a list.

    Raises:
        AmbiguousName: there are several; their designations are listed, or their walls where they have none.
    """
    if len(pipes) == 1:
        return pipes[0]
    choices = [" or ".join(pipe.record.body["designations"]) or _wall_or_id(pipe) for pipe in pipes]
    raise AmbiguousName(
        f"designation: {size} has {len(pipes)} walls; ask for one of {'; '.join(choices)}.",
        parameter="designation",
        candidates=[pipe.id for pipe in pipes],
    )


def _wall_or_id(pipe: PipeAnswer) -> str:
    return str(pipe.printed_wall) if pipe.printed_wall is not None else pipe.id


def system_named(text: str) -> str:
    """The id of the pipe system with this name.

    Raises:
        UnknownName: none has it; those there are, are listed.
    """
    wanted = normal_name(text)
    for system_id, definition in systems().items():
        if wanted in {normal_name(name) for name in (system_id, definition["name"], *definition["names"])}:
            return system_id
    raise UnknownName(
        f"system: there is no pipe system '{text}'; there are {', '.join(systems())}.",
        parameter="system",
        given=text,
        candidates=list(systems()),
    )


def _order(record: StoredRecord) -> tuple[float, float]:
    """Smaller pipes first, thinner walls first, whatever unit is printed."""
    entry = record.body["dimensions"][0]
    scale = units().find(entry["unit"], "length").scale
    return printed_number(entry["outside_diameter"]) * scale, printed_number(entry.get("wall", "0")) * scale
