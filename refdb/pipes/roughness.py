"""The roughness of a surface."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import quote

from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.lookup.find import likeliest, subject_named
from refdb.problems import Problem, UnknownName
from refdb.records.names import normal_name
from refdb.units import Quantity, units
from refdb.values.citation import cited, standing
from refdb.values.options import Options
from refdb.vocabulary import surfaces

if TYPE_CHECKING:
    from refdb.documents import SourceReference
    from refdb.pipes.documents import RoughnessDocument


@dataclass(slots=True)
class RoughnessAnswer:
    """The roughness of one surface: a central value, and the range of what documents print, if they differ."""

    record: StoredRecord
    sources: list[SourceReference]
    release: str
    value: Quantity
    printed_range: tuple[Quantity, Quantity] | None

    @property
    def id(self) -> str:
        """The row's id."""
        return self.record.id

    def document(self) -> RoughnessDocument:
        """The roughness as plain JSON values."""
        body = self.record.body
        surface = surfaces()[body["surface"]]
        return {
            "surface": {
                "id": body["surface"],
                "name": surface["name"],
                "materials": surface["materials"],
                "condition": surface["condition"],
            },
            "property": "roughness",
            "value": self.value.document(),
            "range": [end.document() for end in self.printed_range] if self.printed_range else None,
            **standing(body, self.id, self.record.digest, self.sources),
            "release": self.release,
            "permalink": f"/v1/rows/{quote(self.id)}?release={self.release}",
            "assumptions": [],
            "warnings": [],
        }


def roughness_of(
    store: ReleaseStore, material: str | None, release: ReleaseInfo, options: Options
) -> list[RoughnessAnswer]:
    """The surfaces of a material, or all surfaces.

    Args:
        material: a subject or a surface, by exact name. A name that is not known is refused, never matched to the
            nearest word.

    Raises:
        UnknownName, AmbiguousName: no one subject or surface is called so.
    """
    records = store.of_kind("recommended-roughness", release)
    if material is not None:
        wanted = _surfaces_of(store, material, release)
        records = [record for record in records if record.body["surface"] in wanted]
        if not records:
            raise _without(material, store, release)
    return [_answer(store, record, release, options) for record in records]


def _answer(store: ReleaseStore, record: StoredRecord, release: ReleaseInfo, options: Options) -> RoughnessAnswer:
    body = record.body
    own = units().find(body["unit"], "length")
    unit = options.unit_for("roughness", own)
    ends = [Quantity(own.to(float(body[key]), unit), unit) for key in ("low", "high") if key in body]
    value = Quantity(own.to(float(body["number"]), unit), unit)
    sources = cited(store, body["inputs"], release)
    return RoughnessAnswer(record, sources, release.label, value, (ends[0], ends[1]) if ends else None)


def _surfaces_of(store: ReleaseStore, material: str, release: ReleaseInfo) -> set[str]:
    wanted = normal_name(material)
    named = {key for key, surface in surfaces().items() if wanted in {normal_name(key), normal_name(surface["name"])}}
    if named:
        return named
    listed = {key for key, surface in surfaces().items() if wanted in {normal_name(m) for m in surface["materials"]}}
    if listed:
        return listed
    try:
        subject = subject_named(store, material, release, "material").id
    except UnknownName:
        raise _without(material, store, release) from None
    return {key for key, surface in surfaces().items() if subject in surface["materials"]}


def _without(material: str, store: ReleaseStore, release: ReleaseInfo) -> Problem:
    known = [record.body["surface"] for record in store.of_kind("recommended-roughness", release)]
    near = likeliest(material, known) or known
    return UnknownName(
        f"material: no roughness is published here for '{material}'; the nearest surfaces are {', '.join(near[:5])}.",
        parameter="material",
        given=material,
        candidates=near,
    )
