"""Which pipes it can be, given what a technician can measure.

The measurement is `refdb.pipes.measurement`, the limits and equal dimensions `refdb.pipes.candidates`, the
model `refdb.pipes.posterior`; here its probabilities become an answer. Rows of equal dimensions are one outcome
with many names, and so are rows of equal diameter where no wall was measured.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from refdb.lookup import ReleaseInfo, ReleaseStore
from refdb.pipes.candidates import PRIOR, PRIOR_TEXT, Candidates, Floats, Integers, rows_by
from refdb.pipes.match_words import advice, item_words
from refdb.pipes.materials import material_named
from refdb.pipes.measurement import Measured, PipeMeasurement, Speed, read_measurement
from refdb.pipes.outcomes import EqualRow, PipeMatchItem, PipeOutcomes, PipeSize
from refdb.pipes.pipe import CAUTION, pipe_answer, system_named
from refdb.pipes.posterior import MODEL_TEXT, NONE, WORN, Posterior, posterior, spread
from refdb.pipes.question import PipeQuestion
from refdb.problems import NotAvailable
from refdb.values.options import Options
from refdb.vocabulary import systems

if TYPE_CHECKING:
    from refdb.documents import UncertainQuantity
    from refdb.pipes.documents import (
        MatchedName,
        MatchedSize,
        MatchedSizeProbability,
        Outcome,
        PipeDocument,
        PipeMatchDocument,
        PipeMatchItemDocument,
    )


LEAST_PROBABILITY = 0.001
"""Outcomes less probable than this are not listed."""


class PipeMatch(PipeOutcomes):
    """What a measured pipe can be, in words and as a document."""

    @cached_property
    def advice(self) -> list[str]:
        """Plain words: what cannot be told apart, and which measurement would tell."""
        return advice(self)

    def document(self) -> PipeMatchDocument:
        """The match as plain JSON values."""
        measured = self.measured
        return {
            "release": self.release,
            "measured": {
                "outside_diameter": self._uncertain(measured.outside_diameter),
                "wall": self._if_known(measured.wall),
                "lining": self._if_known(measured.lining),
                "bore": self._if_known(measured.bore),
            },
            "material": self.material,
            "system": self.system,
            "prior": {"name": PRIOR, "text": PRIOR_TEXT, "model": MODEL_TEXT, "none": NONE, "worn": WORN},
            "items": [self._item(item) for item in self.items],
            "sizes": [self._size(size) for size in self.sizes],
            "unlisted": _rounded(self.unlisted),
            "advice": self.advice,
            "assumptions": list(measured.assumptions),
            "warnings": [CAUTION],
        }

    def _uncertain(self, value: Measured) -> UncertainQuantity:
        return {
            "value": self.shown(value.value).document(),
            "standard_uncertainty": self.shown(value.uncertainty).document(),
        }

    def _if_known(self, value: Measured | None) -> UncertainQuantity | None:
        return self._uncertain(value) if value is not None else None

    def _item(self, item: PipeMatchItem) -> PipeMatchItemDocument:
        outside, wall = item.deviations
        return {
            "outcome": item.outcome,
            "pipe": self._pipe(item),
            "probability": _rounded(item.probability),
            "names": self._names(item),
            "bore": {
                "nominal": self._if_known(item.bore),
                "measured": self._if_known(self.measured.bore) if item.pipe is not None else None,
            },
            "deviations": {"outside_diameter": _deviation(outside), "wall": _deviation(wall)},
            "text": item_words(self, item),
        }

    def _pipe(self, item: PipeMatchItem) -> PipeDocument | MatchedSize | None:
        """The row as its standard prints it; a size alone has no wall, hence no row either."""
        if item.pipe is None:
            return None
        told = item.pipe.document()
        if item.outcome == "pipe":
            return told
        return {
            "system": told["system"],
            "size": told["size"],
            "outside_diameter": told["outside_diameter"],
            "outside_diameter_is": told["outside_diameter_is"],
            "release": told["release"],
            "wall": None,
            "bore": None,
        }

    def _names(self, item: PipeMatchItem) -> list[MatchedName]:
        """The rows of an outcome; of a size alone, its systems and their sizes."""
        if item.outcome == "pipe":
            return [self._name(name) for name in item.names]
        merged: dict[str, MatchedName] = {}
        for name in item.names:
            told = self._name(name)
            alone: MatchedName = {**told, "id": None, "designations": [], "wall": None}
            first = merged.setdefault(self.known.words(name.row), alone)
            if first["system"] is not told["system"]:
                first["probability"] = _rounded(first["probability"] + told["probability"])
        return list(merged.values())

    def _name(self, name: EqualRow) -> MatchedName:
        record = self.known.records[name.row]
        definition = systems()[record.body["system"]]
        wall = float(self.known.printed_wall[name.row])
        return {
            "id": record.id,
            "system": {"id": record.body["system"], "name": definition["name"], "standard": definition["standard"]},
            "size": record.body["size"],
            "designations": record.body["designations"],
            "material": definition["material"],
            "wall": self.shown(wall).document() if math.isfinite(wall) else None,
            "probability": _rounded(name.probability),
        }

    def _size(self, size: PipeSize) -> MatchedSizeProbability:
        names = dict.fromkeys(self.known.words(row) for row in size.rows)
        return {
            "outside_diameter": self.shown(size.diameter).document(),
            "probability": _rounded(size.probability),
            "names": list(names),
        }


def match_pipe(
    store: ReleaseStore,
    release: ReleaseInfo,
    known: Candidates,
    asked: PipeQuestion,
    speed: Speed,
    options: Options,
    limit: int,
) -> PipeMatch:
    """What a measured pipe can be.

    Args:
        known: the pipes of the release.
        speed: finds a material's longitudinal speed.
        limit: at most this many outcomes; none of these is told beside them.

    Raises:
        Problem: the question is wrong; see `read_measurement`.
        UnknownName, AmbiguousName: no one material or system is called so.
        NotAvailable: the release has no pipes of the system.
    """
    material: str | None = None
    taken: tuple[str, ...] = ()
    if asked.material is not None:
        material, taken = material_named(store, asked.material, release, known.kinship)
    system = system_named(asked.system) if asked.system is not None else None
    if not known.records or (system is not None and system not in known.systems):
        raise NotAvailable(
            f"system: release {release.label} has no pipes of {system or 'any system'} that a document seen prints; "
            "leave the system out, or ask with accept=estimates.",
            parameter="system",
            given=asked.system,
        )
    material_class = known.kinship.material_class(material) if material is not None else None
    measured = read_measurement(asked, material, material_class, speed, taken)
    found = _found(known, measured, known.prior(material, system))
    outcomes = _outcomes(known, found, measured.wall is not None)
    listed = _listed(outcomes, limit)
    return PipeMatch(
        known=known,
        release=release.label,
        options=options,
        measured=measured,
        material=material,
        system=system,
        items=[_item(store, release, known, measured, options, outcome) for outcome in listed],
        sizes=_sizes(known, found),
        unlisted=max(0.0, 1.0 - sum(outcome.probability for outcome in listed)),
    )


@dataclass(frozen=True, slots=True)
class _Chance:
    outcome: Outcome
    probability: float
    rows: tuple[EqualRow, ...] = ()


def _found(known: Candidates, measured: PipeMeasurement, prior: Floats) -> Posterior:
    outside, wall = measured.outside_diameter, measured.wall
    return posterior(
        known,
        prior,
        np.array([outside.value]),
        np.array([outside.uncertainty]),
        np.array([wall.value]) if wall is not None else None,
        np.array([wall.uncertainty]) if wall is not None else None,
    )


def _outcomes(known: Candidates, found: Posterior, walled: bool) -> list[_Chance]:
    """Every outcome worth listing."""
    pipe, worn = found.pipe[0], found.worn[0]
    chances = [_Chance("none", float(found.none[0]))]
    if walled:
        chances += _grouped(known, known.cell, pipe, "pipe")
        chances += _grouped(known, known.size, worn, "worn")
    else:
        chances += _grouped(known, known.size, pipe, "size")
    return chances


def _grouped(known: Candidates, kind: Integers, probability: Floats, outcome: Outcome) -> list[_Chance]:
    total = np.bincount(kind, weights=probability)
    chances = []
    for group in np.flatnonzero(total >= LEAST_PROBABILITY):
        rows = _ranked(known, rows_by(kind, int(group)), probability)
        names = tuple(EqualRow(row, float(probability[row])) for row in rows)
        chances.append(_Chance(outcome, float(total[group]), names))
    return chances


def _ranked(known: Candidates, rows: list[int], probability: Floats) -> list[int]:
    """The rows that are possible: of the likeliest system first, and of each system the likeliest row first."""
    possible = [row for row in rows if probability[row] > 0.0]
    systems_there: dict[str, float] = {}
    for row in possible:
        systems_there[known.systems[row]] = systems_there.get(known.systems[row], 0.0) + float(probability[row])
    return sorted(possible, key=lambda row: (-systems_there[known.systems[row]], known.systems[row], -probability[row]))


def _listed(outcomes: list[_Chance], limit: int) -> list[_Chance]:
    """The likeliest outcomes, and none of these, which is always told."""
    ranked = sorted(outcomes, key=lambda chance: -chance.probability)
    kept = ranked[:limit]
    return kept + [chance for chance in ranked[limit:] if chance.outcome == "none"]


def _item(
    store: ReleaseStore,
    release: ReleaseInfo,
    known: Candidates,
    measured: PipeMeasurement,
    options: Options,
    chance: _Chance,
) -> PipeMatchItem:
    if not chance.rows:
        return PipeMatchItem(chance.outcome, chance.probability)
    row = chance.rows[0].row
    pipe = pipe_answer(store, known.records[row], release, options)
    outside = _away(measured.outside_diameter, known.diameter[row], known.diameter_half[row])
    wall = _away(measured.wall, known.wall[row], known.wall_half[row]) if chance.outcome == "pipe" else None
    bore = _nominal_bore(known, row) if chance.outcome == "pipe" else None
    return PipeMatchItem(chance.outcome, chance.probability, chance.rows, pipe, bore, (outside, wall))


def _away(measured: Measured | None, middle: float, half: float) -> float | None:
    if measured is None or not math.isfinite(middle):
        return None
    return float((measured.value - middle) / math.hypot(measured.uncertainty, float(spread(half))))


def _nominal_bore(known: Candidates, row: int) -> Measured | None:
    if not math.isfinite(known.wall[row]):
        return None
    value = known.diameter[row] - 2.0 * known.wall[row]
    uncertainty = math.hypot(float(spread(known.diameter_half[row])), 2.0 * float(spread(known.wall_half[row])))
    return Measured(float(value), uncertainty)


def _sizes(known: Candidates, found: Posterior) -> list[PipeSize]:
    """The sizes, whatever the wall, the likeliest first."""
    each = found.pipe[0] + found.worn[0]
    total = np.bincount(known.size, weights=each)
    sizes = []
    for size in np.flatnonzero(total >= LEAST_PROBABILITY):
        rows = _ranked(known, rows_by(known.size, int(size)), each)
        sizes.append(PipeSize(int(size), float(known.printed_diameter[rows[0]]), float(total[size]), tuple(rows)))
    return sorted(sizes, key=lambda found_size: -found_size.probability)


def _rounded(probability: float) -> float:
    """A probability to what the model can answer for."""
    return round(probability, 6)


def _deviation(number: float | None) -> float | None:
    return round(number, 3) if number is not None else None
