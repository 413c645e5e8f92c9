"""Materials that are one metal but for a percent or so: where their speeds differ by more than they admit, all widen.

A drawn rod of copper carries shear sound 4 % faster than an annealed one, by its texture. The pipe in front of the user
may be either, whichever name it goes by.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from refdb.exact.sums import root_sum_square
from refdb.recommend.evidence import AT_ROOM_TEMPERATURE
from refdb.recommend.policy import DiluteAlloys
from refdb.recommend.random_effects import paule_mandel
from refdb.records import number_text
from refdb.records.models import RecommendedValue


def widened(entry: DiluteAlloys, property_id: str, rows: Mapping[str, RecommendedValue]) -> dict[str, RecommendedValue]:
    """The published speeds of a metal and of what mostly consists of it, wide enough to hold one another.

    The variance that the materials show beside what they admit (Paule and Mandel, as between documents) is added to
    that of each; none is moved.

    Args:
        rows: published rows, by id.
    """
    found = [row for row in named_rows(entry, property_id, rows) if row.form["name"] in AT_ROOM_TEMPERATURE]
    values = [float(row.form["coefficients"]["c0"]) for row in found]
    own = [float(row.uncertainty.number) for row in found]
    between = math.sqrt(paule_mandel(values, [size * size for size in own]))
    if between == 0.0:
        return {}
    words = f"{number_text(between, 2)} {found[0].unit}, among {', '.join(row.subject for row in found)}"
    return {
        row.id: row.model_copy(
            update={
                "uncertainty": row.uncertainty.model_copy(
                    update={
                        "number": number_text(root_sum_square(size, between), 2),
                        "text": f"{row.uncertainty.text}, and by what kinds of {entry.of} differ",
                    }
                ),
                "working": {**(row.working or {}), "kinds_differ": words},
            }
        )
        for row, size in zip(found, own, strict=True)
    }


def named_rows(
    entry: DiluteAlloys, property_id: str, rows: Mapping[str, RecommendedValue]
) -> Sequence[RecommendedValue]:
    """The rows that `widened` looks at."""
    names = [f"{subject}.{property_id}" for subject in (entry.of, *entry.subjects)]
    return [rows[name] for name in names if name in rows]
