"""Correlation of the errors of one material's speeds and density: they come from the same specimens and moduli."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import combinations

from refdb.recommend.policy import ErrorCorrelation
from refdb.records import number_text
from refdb.records.models import RecommendedValue

TOGETHER = ("longitudinal_speed", "shear_speed", "density")
LEAST = 0.005
"""Coefficients nearer to zero than this are not told."""
MOST = 0.99
"""No two values are known to err wholly together: their documents round them apart."""
_CONTRIBUTES = re.compile(r"contributes (?P<number>\S+) \S+")

Rows = Mapping[str, RecommendedValue]
SourceOf = Callable[[str], str | None]
"""The document of a reading by its id."""


def with_correlations(rows: Rows, told: Sequence[ErrorCorrelation], source_of: SourceOf) -> dict[str, RecommendedValue]:
    """The rows of one material that err together with others, with the coefficients.

    Values that documents print err together as far as they are from the same documents, by the coefficient that the
    ledger shows. A derived value errs with what it is derived from.
    """
    own = [row for row in rows.values() if row.property in TOGETHER and row.condition is None]
    found: dict[str, dict[str, str]] = {}
    for one, other in combinations(sorted(own, key=lambda row: row.id), 2):
        coefficient = max(-MOST, min(MOST, _of_inputs(one, other) or _of_documents(one, other, told, source_of)))
        if abs(coefficient) >= LEAST:
            text = number_text(coefficient, 2)
            found.setdefault(one.id, {})[other.id] = text
            found.setdefault(other.id, {})[one.id] = text
    return {row_id: rows[row_id].model_copy(update={"correlations": pairs}) for row_id, pairs in found.items()}


def _parts(row: RecommendedValue) -> dict[str, float]:
    """What each input row contributes to a derived row's error, with its sign, over its standard uncertainty."""
    size = float(row.uncertainty.number)
    parts: dict[str, float] = {row.id: 1.0} if row.rung == "published" else {}
    for entry in row.inputs:
        contributes = _CONTRIBUTES.fullmatch(entry.note or "")
        if contributes is not None:
            parts[entry.id] = parts.get(entry.id, 0.0) + float(contributes["number"]) / size
    return parts


def _of_inputs(one: RecommendedValue, other: RecommendedValue) -> float:
    """The coefficient of two rows of which one is derived from the other, or both from the same rows."""
    first, second = _parts(one), _parts(other)
    return math.fsum(first[name] * second[name] for name in sorted(first.keys() & second.keys()))


def _of_documents(
    one: RecommendedValue, other: RecommendedValue, told: Sequence[ErrorCorrelation], source_of: SourceOf
) -> float:
    pair = {one.property, other.property}
    coefficient = next((float(entry.coefficient) for entry in told if set(entry.between) == pair), 0.0)
    first, second = (dict(_weights(row, source_of)) for row in (one, other))
    return coefficient * math.fsum(min(first[name], second[name]) for name in sorted(first.keys() & second.keys()))


def _weights(row: RecommendedValue, source_of: SourceOf) -> Iterator[tuple[str, float]]:
    by_source: dict[str, float] = {}
    for entry in row.inputs:
        source = source_of(entry.id)
        if entry.weight is not None and source is not None:
            by_source[source] = by_source.get(source, 0.0) + float(entry.weight)
    yield from by_source.items()
