"""What standards line a pipe with, and how thick."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.pipes.pipe import pipes_of, system_named
from refdb.pipes.tolerance import NominalPipe, applies, scope_words
from refdb.problems import NotAvailable, UnknownName
from refdb.records import printed_number
from refdb.records.names import normal_name
from refdb.units import Quantity, Unit, units
from refdb.values.citation import cited, standing
from refdb.values.options import SI, Options

if TYPE_CHECKING:
    from refdb.documents import SourceReference
    from refdb.pipes.documents import LiningDocument


@dataclass(slots=True)
class LiningAnswer:
    """A lining, or a coating outside, by its standard.

    Attributes:
        thickness: nominal; None where only a range or a minimum is printed.
        printed_range: the ends, where a range is printed.
        minimum: the least thickness at any point, where that is printed.
    """

    record: StoredRecord
    sources: list[SourceReference]
    release: str
    thickness: Quantity | None
    printed_range: tuple[Quantity, Quantity] | None
    minimum: Quantity | None

    @property
    def id(self) -> str:
        """The row's id."""
        return self.record.id

    def document(self) -> LiningDocument:
        """The lining as plain JSON values."""
        body = self.record.body
        return {
            "id": self.id,
            "systems": body["systems"],
            "standard": body["standard"],
            "material": body["material"],
            "side": body["side"],
            "pipes": scope_words(body) or "all",
            "thickness": self.thickness.document() if self.thickness is not None else None,
            "range": [end.document() for end in self.printed_range] if self.printed_range is not None else None,
            "minimum": self.minimum.document() if self.minimum is not None else None,
            **standing(body, self.id, self.record.digest, self.sources),
            "release": self.release,
            "permalink": f"/v1/rows/{quote(self.id)}?release={self.release}",
            "assumptions": [],
            "warnings": [],
        }


def linings_of(
    store: ReleaseStore,
    system: str | None,
    size: str | None,
    material: str | None,
    release: ReleaseInfo,
    options: Options = SI,
) -> list[LiningAnswer]:
    """The linings of a system's pipes of a size.

    Args:
        system: without one, those of every system.
        size: in the trade's words; without one, those of every size.
        material: only linings of this material, by exact name.

    Raises:
        UnknownName: there is no such system, size or lining material.
        BadParameter: the size is not a size word, or stands without a system.
        NotAvailable: no document seen gives a lining for them.
    """
    records = [
        record
        for record in store.of_kind("recommended-lining", release)
        if options.estimates or record.body["rung"] != "memory"
    ]
    if material is not None:
        records = _of_material(records, material)
    if system is not None:
        records = _of_pipes(store, records, system, size, release)
    elif size is not None:
        raise NotAvailable("size: a size needs its system; name it.", parameter="system", estimate_available=False)
    return [_answer(store, record, release, options) for record in records]


def _of_material(records: list[StoredRecord], material: str) -> list[StoredRecord]:
    wanted = normal_name(material)
    fitting = [record for record in records if normal_name(record.body["material"]) == wanted]
    if not fitting:
        known = sorted({record.body["material"] for record in records})
        raise UnknownName(
            f"material: there is no lining of '{material}' here; there are {', '.join(known) or 'none'}.",
            parameter="material",
            given=material,
            candidates=known,
        )
    return fitting


def _of_pipes(
    store: ReleaseStore, records: list[StoredRecord], system: str, size: str | None, release: ReleaseInfo
) -> list[StoredRecord]:
    system_id = system_named(system)
    fitting = [record for record in records if system_id in record.body["systems"]]
    if size is not None:
        pipes = [
            nominal_of(pipe.record) for pipe in pipes_of(store, system_id, size, None, release, Options(estimates=True))
        ]
        fitting = [record for record in fitting if any(applies(record.body, pipe) for pipe in pipes)]
    if not fitting:
        asked = f"{system_id} {size}" if size is not None else system_id
        lined = sorted({name for record in records for name in record.body["systems"]})
        raise NotAvailable(
            f"lining: no document seen gives one for {asked}; there are linings of {', '.join(lined) or 'no system'}. "
            "Ask who made the pipe, or measure.",
            parameter="system",
            given=asked,
            estimate_available=False,
        )
    return fitting


def nominal_of(record: StoredRecord) -> NominalPipe:
    """A pipe's row as the conditions of linings and tolerances see it."""
    entry = record.body["dimensions"][0]
    scale = units().find(entry["unit"], "length").scale
    wall = printed_number(entry["wall"]) * scale if "wall" in entry else None
    outside = printed_number(entry["outside_diameter"]) * scale
    return NominalPipe(record.body["size"], record.body["designations"], outside, wall)


def _answer(store: ReleaseStore, record: StoredRecord, release: ReleaseInfo, options: Options) -> LiningAnswer:
    body = record.body
    own = units().find(body["unit"], "length")
    wanted = units().find("in" if options.system == "us" else "mm", "length")
    low, high = (_quantity(body, key, own, wanted) for key in ("low", "high"))
    return LiningAnswer(
        record,
        cited(store, body["inputs"], release),
        release.label,
        _quantity(body, "number", own, wanted),
        (low, high) if low is not None and high is not None else None,
        _quantity(body, "minimum", own, wanted),
    )


def _quantity(body: dict[str, Any], key: str, own: Unit, wanted: Unit) -> Quantity | None:
    return Quantity(own.to(printed_number(body[key]), wanted), wanted) if key in body else None
