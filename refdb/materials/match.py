"""Which materials agree with what was measured on a piece.

Every material of the release with all of the measured properties is taken at the temperature of the piece; it agrees
where d' C^-1 d lies within the 95 % quantile of chi-squared, d the differences and C the covariance of the measurement
and of the rows, whose errors go together where they rest on the same documents (JCGM 102:2011, 6.5). Materials are
ranked by the normal likelihood of the differences, all of equal weight.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from typing import TYPE_CHECKING, Any

import numpy as np

from refdb.lookup import ReleaseInfo
from refdb.materials.measurement import MATCHED, UNTOLD, PieceMeasurement, read_piece
from refdb.materials.question import MaterialMeasured
from refdb.materials.rows import MaterialRows, materials_at, rows_of
from refdb.units import Quantity, significant, units
from refdb.values.options import Options
from refdb.values.reader import Reader
from refdb.vocabulary import properties

if TYPE_CHECKING:
    from refdb.materials.documents import (
        FurtherMeasurement,
        MatchReason,
        MaterialCompared,
        MaterialMatchDocument,
        MaterialMatchItem,
    )

AGREES = {1: 3.841, 2: 5.991, 3: 7.815, 4: 9.488, 5: 11.07}
"""The 95 % quantile of chi-squared by the number of properties (tables of the distribution; checked in the tests)."""
NEAR = 4.0
"""Times that quantile: materials that miss by no more are told as near misses."""
APART = 2.0
"""Combined standard uncertainties by which two materials differ in a property that would tell them apart."""

REASONS: dict[MatchReason, str] = {
    "no_value": "not every measured property is published of them",
    "estimate": "nobody published one of the measured properties; an estimate is given with accept=estimates",
    "bound": "of one of the measured properties no more than a bound is known",
    "outside_range": "the temperature lies outside the range of a row",
}
MODEL = (
    "A material agrees where the measured numbers lie within the 95 % region of all of them together: d' C^-1 d, with "
    "the covariance C of what was measured and of the rows, whose errors go together where they rest on the same "
    "documents (JCGM 102:2011, 6.5). Ranked by the normal likelihood, all materials of equal weight; a likelihood is "
    "no probability."
)
CAUTION = (
    "Speeds and density do not prove an alloy: before anybody relies on its strength or its resistance, a certificate "
    "or an analysis says what it is. Pipes are hot, under pressure and hold what harms: site rules come first."
)


@dataclass(frozen=True, slots=True)
class ComparedMaterial:
    """A material beside the measurement."""

    rows: MaterialRows
    differences: Any
    sizes: Any
    chi_squared: float
    log_likelihood: float

    @property
    def subject(self) -> str:
        """The id of the material."""
        return self.rows.record.id


@dataclass(frozen=True)
class MaterialMatch:
    """Materials that agree, in words and as a document."""

    release: str
    options: Options
    piece: PieceMeasurement
    items: Sequence[ComparedMaterial]
    near: Sequence[ComparedMaterial]
    left_out: dict[MatchReason, list[str]]
    further: Sequence[tuple[str, float]]
    limit: int

    @cached_property
    def advice(self) -> list[str]:
        """Plain words: what can be told, and what cannot be told apart."""
        names = " and ".join(name.replace("_", " ") for name in self.piece.measured)
        if not self.items:
            told = f"No material of the release has this {names}; check the units, or ask `refdb unlisted-material`."
            return [told, *self._nearest()]
        if len(self.items) == 1:
            return [f"One material of the release agrees: {self.items[0].subject}. One that is not in it may as well."]
        families = Counter(str(item.rows.record.body["family"]) for item in self.items)
        told = ", ".join(f"{count} of {family}" for family, count in families.most_common())
        lines = [f"{len(self.items)} materials agree and cannot be told apart by {names}: {told}."]
        for name, share in self.further:
            if share >= 0.5:
                lines.append(f"The {name.replace('_', ' ')} would tell {share:.0%} of their pairs apart.")
        if not any(share >= 0.5 for _, share in self.further):
            lines.append("Sound and weight hardly tell them apart: an analysis of the alloy does (X-ray fluorescence).")
        return lines

    def _nearest(self) -> list[str]:
        return [f"The nearest is {self.near[0].subject}."] if self.near else []

    def document(self) -> MaterialMatchDocument:
        """The match as plain JSON values."""
        best = max((item.log_likelihood for item in (*self.items, *self.near)), default=0.0)
        further: list[FurtherMeasurement] = [
            {"property": name, "pairs_apart": round(share, 3)} for name, share in self.further
        ]
        return {
            "release": self.release,
            "temperature": Quantity(self.piece.celsius, units().find("degC", "temperature")).document(),
            "measured": {
                name: one.document(self.options.unit_for(name, units().si(properties()[name]["dimension"])))
                for name, one in self.piece.measured.items()
            },
            "model": MODEL,
            "agreeing": len(self.items),
            "items": [self._item(item, best, agrees=True) for item in self.items[: self.limit]],
            "near_misses": [self._item(item, best, agrees=False) for item in self.near[: self.limit]],
            "left_out": [
                {"reason": reason, "text": REASONS[reason], "count": len(ids), "subjects": ids}
                for reason, ids in self.left_out.items()
            ],
            "further": further,
            "advice": self.advice,
            "assumptions": list(self.piece.assumptions),
            "warnings": [CAUTION],
        }

    def _item(self, item: ComparedMaterial, best: float, *, agrees: bool) -> MaterialMatchItem:
        return {
            "subject": item.rows.answers[0].text.subject,
            "family": str(item.rows.record.body["family"]),
            "compared": [self._compared(item, place) for place in range(len(item.rows.answers))],
            "chi_squared": significant(item.chi_squared, 4),
            "likelihood": significant(math.exp(item.log_likelihood - best), 4),
            "agrees": agrees,
        }

    def _compared(self, item: ComparedMaterial, place: int) -> MaterialCompared:
        found = item.rows.answers[place]
        unit = found.value.unit
        si = units().si(unit.dimension)
        fixed = found.text.fixed
        return {
            "property": found.property_id,
            "value": found.value.document(),
            "standard_uncertainty": found.standard_uncertainty.document(),
            "difference": Quantity(si.difference_to(float(item.differences[place]), unit), unit).document(),
            "deviation": round(float(item.differences[place] / item.sizes[place]), 3) + 0.0,
            "rung": str(fixed["rung"]),
            "row": fixed["row"],
        }


def matched(
    reader: Reader, asked: MaterialMeasured, options: Options, release: ReleaseInfo, limit: int
) -> MaterialMatch:
    """The materials that agree with what was measured on a piece.

    Raises:
        BadQuantity, UnknownUnit, WrongDimension, BadParameter, OutsideRange: the question is wrong.
    """
    piece = read_piece(asked)
    names = list(piece.measured)
    compared: list[ComparedMaterial] = []
    left_out: dict[MatchReason, list[str]] = {}
    for found in materials_at(reader, names, piece.state, options, release):
        if isinstance(found, tuple):
            left_out.setdefault(found[1], []).append(found[0])
        else:
            compared.append(_compared_with(found, piece))
    ranked = sorted(compared, key=lambda item: (-item.log_likelihood, item.subject))
    limit_of_all = AGREES[len(names)]
    items = [item for item in ranked if item.chi_squared <= limit_of_all]
    near = [item for item in ranked if limit_of_all < item.chi_squared <= NEAR * limit_of_all]
    return MaterialMatch(
        release.label,
        options,
        piece,
        items,
        near,
        {reason: left_out[reason] for reason in REASONS if reason in left_out},
        _further(reader, items, piece, options, release),
        limit,
    )


def _compared_with(rows: MaterialRows, piece: PieceMeasurement) -> ComparedMaterial:
    measured = list(piece.measured.values())
    differences = np.array([one.value for one in measured]) - rows.values
    covariance = rows.covariance + np.diag([one.uncertainty * one.uncertainty for one in measured])
    chi_squared = float(differences @ np.linalg.solve(covariance, differences))
    log_likelihood = -0.5 * (chi_squared + float(np.linalg.slogdet(covariance)[1]))
    return ComparedMaterial(rows, differences, np.sqrt(np.diag(covariance)), chi_squared, log_likelihood)


def _further(
    reader: Reader, items: Sequence[ComparedMaterial], piece: PieceMeasurement, options: Options, release: ReleaseInfo
) -> list[tuple[str, float]]:
    """What was not measured, the best first, with the share of pairs of agreeing materials that it would tell apart."""
    found = []
    for name in MATCHED:
        if name in piece.measured or len(items) < 2:
            continue
        told = [rows_of(reader, item.rows.record, [name], piece.state, options, release) for item in items]
        rows = [one for one in told if not isinstance(one, str)]
        pairs = list(combinations([(float(one.values[0]), float(one.uncertainties[0])) for one in rows], 2))
        if pairs:
            apart = [
                abs(one - other) > APART * math.hypot(size, other_size, UNTOLD[name] * one)
                for (one, size), (other, other_size) in pairs
            ]
            found.append((name, sum(apart) / len(pairs)))
    return sorted(found, key=lambda one: -one[1])
