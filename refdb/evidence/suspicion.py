"""General suspicions about what documents say of materials: by laws and by peers, never by name.

Each asks one question of the readings of a release, flagged and left-out ones included: do the values of one row belong
together, does a reading lie far from its peers, would it be right in another unit or with another decimal point, is it
a foam or the speed in a thin rod, and does a figure that is wrong so stand in several documents.
"""

from __future__ import annotations

import math
import statistics
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Any

from refdb.forms.elasticity import poisson_ratio_of_speeds, rod_speed
from refdb.laws import (
    DOUBTED,
    NORMAL_OF_MEDIAN,
    Held,
    hold_bulk_speed,
    hold_moduli,
    hold_youngs_modulus,
    means_of_lineages,
)
from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.records import printed_number
from refdb.records.readings import single_value
from refdb.units import significant, units
from refdb.vocabulary import properties

if TYPE_CHECKING:
    from refdb.evidence.documents import SuspicionCode, SuspicionDocument


SPEEDS = ("longitudinal_speed", "shear_speed")
MODULI = ("youngs_modulus", "shear_modulus", "poisson_ratio")
AGREEMENT: Mapping[str, float] = {
    "longitudinal_speed": 0.02,
    "shear_speed": 0.02,
    "density": 0.02,
    "youngs_modulus": 0.05,
    "shear_modulus": 0.05,
    "bulk_modulus": 0.05,
    "poisson_ratio": 0.05,
}
"""How well sound readings of one material agree, relatively: the scale on which peers are measured (judgement)."""

FEWEST_PEERS = 2
SLIP, ROD = 0.04, 0.025
"""Relative differences within which a slip, or the speed in a thin rod, explains a number (judgement)."""

FAR = 0.5
"""A density or a speed below half of what the family has is a foam's, or not of the solid at all."""


def suspicion_document(
    code: SuspicionCode, readings: Sequence[StoredRecord], text: str, size: float
) -> SuspicionDocument:
    """A suspicion as plain JSON values; a size that is no number is absent."""
    return {
        "code": code,
        "subject": readings[0].body["subject"],
        "properties": sorted({reading.body["property"] for reading in readings}),
        "readings": [{"id": reading.id, "digest": reading.digest} for reading in readings],
        "sources": sorted({reading.body["source"] for reading in readings}),
        "text": text,
        "size": significant(size, 4) if math.isfinite(size) else None,
    }


@dataclass(frozen=True, slots=True)
class _Said:
    """A reading as a number in SI, with what it descends from."""

    record: StoredRecord
    value: float
    lineage: str

    @property
    def printed(self) -> str:
        return f"{self.record.body['number']} {self.record.body['unit']}"

    @property
    def sound(self) -> bool:
        """Whether it may speak against others: a flagged reading may not."""
        return not any(flag["code"] != "note" for flag in self.record.body.get("flags", []))

    @property
    def place(self) -> tuple[str, str, str | None]:
        body = self.record.body
        return body["source"], body["locator"], body.get("condition")


@dataclass(frozen=True, slots=True)
class _Suspicion:
    """What is suspicious about one or more readings of a material; `size` is relative, for the order."""

    code: SuspicionCode
    readings: tuple[_Said, ...]
    text: str
    size: float

    def document(self) -> SuspicionDocument:
        return suspicion_document(self.code, [said.record for said in self.readings], self.text, self.size)


Said = Mapping[str, list[_Said]]


def suspicions(store: ReleaseStore, release: ReleaseInfo) -> list[SuspicionDocument]:
    """Every suspicion about the materials of a release, the largest of its kind first."""
    materials = [s for s in store.of_kind("subject", release) if s.body["subject_kind"] == "material"]
    said = {subject.id: _said(store, release, subject.id) for subject in materials}
    typical = _typical(materials, said)
    found: list[_Suspicion] = []
    for subject in materials:
        own = said[subject.id]
        for question in _QUESTIONS if subject.body.get("isotropic", True) else _QUESTIONS_OF_ANY:
            found.extend(question(own))
        found.extend(_far_below(own, typical.get(subject.body["family"], {})))
    found.extend(_travelling(found))
    ordered = sorted(found, key=lambda one: (one.code, -one.size, one.readings[0].record.id))
    return [one.document() for one in ordered]


def _said(store: ReleaseStore, release: ReleaseInfo, subject: str) -> Said:
    said: dict[str, list[_Said]] = defaultdict(list)
    for record in store.about(("scalar",), subject, release):
        body = record.body
        if _at_room_temperature(body) and not any(flag["code"] == "unclear-basis" for flag in body.get("flags", [])):
            source = store.record(body["source"], release)
            lineage = source.body.get("lineage", source.id) if source is not None else body["source"]
            said[body["property"]].append(_Said(record, _in_si(body), lineage))
    return said


def _in_si(body: dict[str, Any]) -> float:
    definition = properties()[body["property"]]
    return single_value(body, units().find(definition["si"], definition["dimension"]), units()).value


def _at_room_temperature(body: Mapping[str, Any]) -> bool:
    temperature = body["state"].get("temperature")
    if not isinstance(temperature, dict) or "number" not in temperature:
        return not isinstance(temperature, dict)
    unit, celsius = units().find(temperature["unit"], "temperature"), units().find("degC", "temperature")
    return 10.0 <= float(unit.to(printed_number(temperature["number"]), celsius)) <= 35.0


def _typical(materials: Iterable[StoredRecord], said: Mapping[str, Said]) -> dict[str, dict[str, tuple[float, int]]]:
    """By family and property: the median over its members, and how many members that is."""
    members: dict[str, dict[str, list[float]]] = defaultdict(lambda: defaultdict(list))
    for subject in materials:
        for property_id, items in said[subject.id].items():
            sound = [item.value for item in items if item.sound]
            if sound:
                members[subject.body["family"]][property_id].append(statistics.median(sound))
    return {
        family: {name: (statistics.median(values), len(values)) for name, values in found.items()}
        for family, found in members.items()
    }


def _peers(item: _Said, items: Sequence[_Said]) -> list[float]:
    """What independent documents say: one value each."""
    return means_of_lineages(
        (other.lineage, other.value) for other in items if other.sound and other.lineage != item.lineage
    )


def _in_one_place(said: Said, names: Sequence[str]) -> Iterator[tuple[_Said, ...]]:
    for items in product(*(said.get(name, []) for name in names)):
        if len({item.place for item in items}) == 1:
            yield items


def _median(said: Said, name: str, but: str) -> float | None:
    values = [item.value for item in said.get(name, []) if item.sound and item.lineage != but]
    return statistics.median(values) if values else None


def _pairs(said: Said) -> Iterator[_Suspicion]:
    """Two speeds of one row against Poisson's ratio, Young's modulus and shock waves."""
    for longitudinal, shear in _in_one_place(said, SPEEDS):
        pair, printed = (longitudinal, shear), f"{longitudinal.printed} and {shear.printed}"
        nu = poisson_ratio_of_speeds(longitudinal.value, shear.value)
        if not 0.0 < nu < 0.5:
            yield _Suspicion("inconsistent-pair", pair, f"{printed} give Poisson's ratio {nu:.3f}", 1.0)
            continue
        modulus, density = (_median(said, name, shear.lineage) for name in ("youngs_modulus", "density"))
        if modulus is not None and density is not None:
            held = hold_youngs_modulus(longitudinal.value, shear.value, density, modulus)
            words = f"{printed} give Young's modulus {held.own / 1e9:.4g} GPa, "
            words += f"where documents print {modulus / 1e9:.4g} GPa"
            yield from _broken("inconsistent-pair", pair, held, words)
        shock = _median(said, "bulk_sound_speed", shear.lineage)
        if shock is not None:
            held = hold_bulk_speed(longitudinal.value, shear.value, shock)
            words = f"{printed} give a bulk speed of {held.own:.0f} m/s, where shock waves give {shock:.0f} m/s"
            yield from _broken("inconsistent-pair", pair, held, words)


def _moduli(said: Said) -> Iterator[_Suspicion]:
    """E, G and nu of one row against E = 2 G (1 + nu)."""
    for young, shear, nu in _in_one_place(said, MODULI):
        held = hold_moduli(young.value, shear.value, nu.value)
        words = f"E {young.printed}, G {shear.printed} and nu {nu.record.body['number']} disagree by {held.off:+.1%}"
        yield from _broken("inconsistent-moduli", (young, shear, nu), held, words)


def _broken(code: SuspicionCode, items: tuple[_Said, ...], held: Held, words: str) -> Iterator[_Suspicion]:
    if held.broken:
        yield _Suspicion(code, items, f"{words} ({held.off:+.1%})" if "%" not in words else words, abs(held.off))


def _rods(said: Said) -> Iterator[_Suspicion]:
    """Longitudinal speeds that are those of a thin rod, sqrt(E/rho), where peers print a bulk speed."""
    for item in said.get("longitudinal_speed", []):
        modulus, density = _median(said, "youngs_modulus", ""), _median(said, "density", "")
        peers = _peers(item, said["longitudinal_speed"])
        if modulus is None or density is None or not peers:
            continue
        rod, bulk = rod_speed(modulus, density), statistics.median(peers)
        # Where Poisson's ratio is next to nothing the two speeds are one.
        if abs(item.value / rod - 1.0) <= ROD and rod < 0.95 * bulk:
            words = f"{item.printed} is the speed in a thin rod, sqrt(E/rho) = {rod:.0f} m/s; others: {bulk:.0f} m/s"
            yield _Suspicion("thin-rod", (item,), words, abs(item.value / bulk - 1.0))


def _far_from_peers(said: Said) -> Iterator[_Suspicion]:
    """Readings far from what independent documents print; whether another unit or decimal point puts them right."""
    for property_id, scale in AGREEMENT.items():
        for item in said.get(property_id, []):
            peers = _peers(item, said[property_id])
            if not peers:
                continue
            median = statistics.median(peers)
            slip = _slip(item, median)
            if slip is not None:
                yield slip
            elif len(peers) >= FEWEST_PEERS:
                yield from _outlying(item, peers, median, scale)


def _outlying(item: _Said, peers: Sequence[float], median: float, scale: float) -> Iterator[_Suspicion]:
    spread = statistics.median(abs(value - median) for value in peers) / NORMAL_OF_MEDIAN
    score = (item.value - median) / max(spread, scale * median)
    if abs(score) > DOUBTED:
        off = item.value / median - 1.0
        words = f"{item.printed} is {off:+.1%} from {median:.4g}, the median of {len(peers)} independent documents"
        yield _Suspicion("far-from-peers", (item,), words, abs(off))


def _slip(item: _Said, median: float) -> _Suspicion | None:
    """A reading that is far off as printed, and right ten or a thousand times so, or in another unit."""
    off = item.value / median
    if 0.6 < off < 1.6 or item.value <= 0.0:
        return None
    for power in (1, 2, 3):
        for factor in (10.0**power, 10.0**-power):
            if abs(off * factor - 1.0) <= SLIP:
                words = f"{item.printed} is {1.0 / factor:g} times {median:.4g}, what independent documents print in SI"
                return _Suspicion("decimal-slip", (item,), words, abs(math.log(off)))
    body = item.record.body
    definition = properties()[body["property"]]
    si = units().find(definition["si"], definition["dimension"])
    for spelling in units().spellings(definition["dimension"]):
        other = units().find(spelling, definition["dimension"])
        if other.function is not None:
            # It holds in a range only, and nobody takes degrees API for kg/m3.
            continue
        if abs(float(other.to(printed_number(body["number"]), si)) / median - 1.0) <= SLIP:
            words = f"{item.printed} would be right as {body['number']} {other.symbol}"
            return _Suspicion("unit-slip", (item,), words, abs(math.log(off)))
    return None


def _far_below(said: Said, typical: Mapping[str, tuple[float, int]]) -> Iterator[_Suspicion]:
    """Densities and speeds far below their family: foams, and what is not of the solid at all."""
    for property_id in ("density", *SPEEDS):
        median, members = typical.get(property_id, (0.0, 0))
        for item in said.get(property_id, []):
            share = item.value / median if members > FEWEST_PEERS else 1.0
            # Less than a hundredth is a slip of the unit, and no foam.
            if 0.01 < share < FAR:
                words = f"{item.printed} is {share:.0%} of {median:.4g}, the median of its family in SI: a foam?"
                yield _Suspicion("far-below-family", (item,), words, 1.0 - share)


def _travelling(found: Sequence[_Suspicion]) -> list[_Suspicion]:
    """Suspicious figures that several documents print alike."""
    alike: dict[tuple[str, str, float], dict[str, _Said]] = defaultdict(dict)
    for one in found:
        for item in one.readings:
            body = item.record.body
            alike[body["subject"], body["property"], float(f"{item.value:.6g}")][body["source"]] = item
    return [
        _Suspicion(
            "travelling-figure",
            tuple(items.values()),
            f"{next(iter(items.values())).printed} is suspicious, and {len(items)} documents print it",
            float(len(items)),
        )
        for items in alike.values()
        if len(items) > 1
    ]


_QUESTIONS_OF_ANY: tuple[Callable[[Said], Iterator[_Suspicion]], ...] = (_far_from_peers,)
_QUESTIONS = (*_QUESTIONS_OF_ANY, _pairs, _moduli, _rods)
