"""Rule `attenuation/1`: what a material absorbs of a wave over one wavelength, where documents print that."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence

from refdb.exact.functions import exp, log
from refdb.recommend.evidence import at_room_temperature, weakest_basis, weakest_seen
from refdb.recommend.lineage import Lineages
from refdb.recommend.policy import AttenuationPolicy, Family
from refdb.records import digest, number_text
from refdb.records.models import (
    Input,
    LeftOut,
    PrintedInterval,
    PropertyReading,
    RecommendedUncertainty,
    RecommendedValue,
    Scalar,
    Subject,
)
from refdb.records.readings import single_value
from refdb.records.rules import ATTENUATION
from refdb.units import UnitTable

ATTENUATIONS = ("longitudinal_attenuation", "shear_attenuation")
NOTE = (
    "Proportionality to the frequency is assumed: per length it is this value times the frequency over the speed of "
    "the wave. {frequency}"
)
NOT_STATED = "At which frequency it was found is not stated."


def recommend_attenuation(
    subject: Subject,
    property_id: str,
    readings: Sequence[PropertyReading],
    family: Family,
    policy: AttenuationPolicy,
    lineages: Lineages,
    room: PrintedInterval,
    table: UnitTable,
) -> RecommendedValue | None:
    """The geometric mean of documents, one voice each; None where no reading can be used."""
    voices: dict[str, tuple[Scalar, float]] = {}
    left_out = []
    for reading in sorted(readings, key=lambda reading: reading.id):
        if not isinstance(reading, Scalar):
            continue
        reason = "; ".join(f"{flag.code}: {flag.text}" for flag in reading.doubts)
        reason = reason or (at_room_temperature(reading, room, table) or "")
        lineage = lineages.of(reading.source)
        if not reason and lineage in voices:
            reason = f"shares its origin with {voices[lineage][0].id} (lineage {lineage}); the two count once"
        target = table.si(table.find(reading.unit).dimension)
        value = single_value(reading.plain(), target, table).value
        if reason:
            left_out.append(
                LeftOut(id=reading.id, digest=digest(reading.plain()), reason=reason, value=number_text(value))
            )
        else:
            voices[lineage] = reading, value
    if not voices:
        return None
    return _row(subject, property_id, list(voices.values()), left_out, family, policy)


def _row(
    subject: Subject,
    property_id: str,
    voices: Sequence[tuple[Scalar, float]],
    left_out: Sequence[LeftOut],
    family: Family,
    policy: AttenuationPolicy,
) -> RecommendedValue:
    mean = exp(statistics.fmean(log(value) for _, value in voices))
    spread = float(policy.spread) * math.sqrt(1.0 + 1.0 / len(voices))
    stated = [reading.state.frequency for reading, _ in voices if reading.state.frequency is not None]
    weight = number_text(1.0 / len(voices))
    return RecommendedValue(
        id=f"{subject.id}.{property_id}",
        subject=subject.id,
        property=property_id,
        unit="Np/wavelength",
        form={"name": "constant/1", "coefficients": {"c0": number_text(mean, 3)}},
        domain={"temperature": family.room_temperature},
        uncertainty=RecommendedUncertainty(
            number=number_text(spread * mean, 2),
            unit="Np/wavelength",
            code="family-repeatability",
            text=f"a factor of {number_text(exp(spread), 2)} either way, to first order: what documents and specimens "
            "differ by (judgement)",
        ),
        rule=ATTENUATION.name,
        basis=weakest_basis(reading.basis for reading, _ in voices),
        seen=weakest_seen(reading.seen for reading, _ in voices),
        rung="published",
        inputs=[
            Input(id=reading.id, digest=digest(reading.plain()), value=number_text(value), weight=weight)
            for reading, value in voices
        ],
        left_out=list(left_out) or None,
        working={"independent_readings": str(len(voices)), "log_spread": number_text(spread, 3)},
        notes=[NOTE.format(frequency="" if len(stated) == len(voices) else NOT_STATED).strip()],
    )
