"""Rule `printed-roughness/1`."""

from __future__ import annotations

import math
import statistics
from collections import defaultdict
from collections.abc import Sequence

from refdb.recommend.evidence import weakest_basis, weakest_seen
from refdb.records import digest, number_text, printed_number
from refdb.records.models import Input, LeftOut, RecommendedRoughness, RoughnessReading
from refdb.records.rules import PRINTED_ROUGHNESS
from refdb.units import UnitTable


def recommend_roughness(readings: Sequence[RoughnessReading], si: str, table: UnitTable) -> list[RecommendedRoughness]:
    """One row per surface, in `si`, from readings without doubts."""
    by_surface: dict[str, list[RoughnessReading]] = defaultdict(list)
    for reading in readings:
        by_surface[reading.surface].append(reading)
    rows = [_row(surface, members, si, table) for surface, members in sorted(by_surface.items())]
    return [row for row in rows if row is not None]


def _row(surface: str, readings: list[RoughnessReading], si: str, table: UnitTable) -> RecommendedRoughness | None:
    usable = [reading for reading in readings if not reading.doubts]
    if not usable:
        return None
    central = [_central(reading, si, table) for reading in usable]
    printed = {number_text(end, 3) for reading in usable for end in _printed(reading, si, table)}
    low, high = min(printed, key=float), max(printed, key=float)
    return RecommendedRoughness(
        id=f"roughness.{surface}",
        surface=surface,
        unit=si,
        number=number_text(math.exp(statistics.fmean(math.log(value) for value in central)), 3),
        low=low if low != high else None,
        high=high if low != high else None,
        rule=PRINTED_ROUGHNESS.name,
        basis=weakest_basis(reading.basis for reading in usable),
        seen=weakest_seen(reading.seen for reading in usable),
        rung="published",
        inputs=[
            Input(id=reading.id, digest=digest(reading.plain()), value=number_text(value, 4))
            for reading, value in zip(usable, central, strict=True)
        ],
        left_out=[
            LeftOut(
                id=reading.id,
                digest=digest(reading.plain()),
                reason="; ".join(f"{flag.code}: {flag.text}" for flag in reading.doubts),
            )
            for reading in readings
            if reading.doubts
        ]
        or None,
    )


def _printed(reading: RoughnessReading, si: str, table: UnitTable) -> list[float]:
    unit = table.find(reading.unit, "length")
    target = table.find(si, "length")
    texts = [text for text in (reading.number, reading.low, reading.high) if text is not None]
    return [float(unit.to(printed_number(text), target)) for text in texts]


def _central(reading: RoughnessReading, si: str, table: UnitTable) -> float:
    printed = _printed(reading, si, table)
    if reading.number is not None:
        return printed[0]
    return math.sqrt(printed[0] * printed[1])
