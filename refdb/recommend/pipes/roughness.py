"""Rules `printed-roughness/1` and `/2`."""

from __future__ import annotations

import math
import statistics
from collections import defaultdict
from collections.abc import Mapping, Sequence

from refdb.exact.functions import exp, log
from refdb.recommend.evidence import weakest_basis, weakest_seen
from refdb.recommend.pipes.printed import doubts_of, left_out
from refdb.records import digest, number_text, printed_number
from refdb.records.models import Input, RecommendedRoughness, RoughnessReading, Source
from refdb.records.rules import PRINTED_ROUGHNESS, ROUGHNESS_OF_DOCUMENTS
from refdb.units import UnitTable


def recommend_roughness(
    readings: Sequence[RoughnessReading], si: str, table: UnitTable, sources: Mapping[str, Source]
) -> list[RecommendedRoughness]:
    """One row per surface, in `si`, from readings without doubts."""
    lineages = {key: source.lineage or key for key, source in sources.items()}
    by_surface: dict[str, list[RoughnessReading]] = defaultdict(list)
    for reading in readings:
        by_surface[reading.surface].append(reading)
    rows = [_row(surface, members, si, table, lineages) for surface, members in sorted(by_surface.items())]
    return [row for row in rows if row is not None]


def _row(
    surface: str, readings: list[RoughnessReading], si: str, table: UnitTable, lineages: Mapping[str, str]
) -> RecommendedRoughness | None:
    usable = [reading for reading in readings if not reading.doubts]
    if not usable:
        return None
    central = [_central(reading, si, table) for reading in usable]
    voices: dict[str, list[float]] = defaultdict(list)
    for reading, value in zip(usable, central, strict=True):
        voices[lineages[reading.source]].append(value)
    printed = {number_text(end, 3) for reading in usable for end in _printed(reading, si, table)}
    low, high = min(printed, key=float), max(printed, key=float)
    return RecommendedRoughness(
        id=f"roughness.{surface}",
        surface=surface,
        unit=si,
        number=number_text(_middle([_middle(voice) for voice in voices.values()]), 3),
        low=low if low != high else None,
        high=high if low != high else None,
        rule=(PRINTED_ROUGHNESS if len(voices) == len(usable) else ROUGHNESS_OF_DOCUMENTS).name,
        basis=weakest_basis(reading.basis for reading in usable),
        seen=weakest_seen(reading.seen for reading in usable),
        rung="published",
        inputs=[
            Input(id=reading.id, digest=digest(reading.plain()), value=number_text(value, 4))
            for reading, value in zip(usable, central, strict=True)
        ],
        left_out=[left_out(reading, doubts_of(reading)) for reading in readings if reading.doubts] or None,
    )


def _middle(values: Sequence[float]) -> float:
    """The geometric mean."""
    return float(exp(statistics.fmean(log(value) for value in values)))


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
