"""Rule `analogue/1`: the value of a near relative, where nothing is known of a material and its family says little."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from refdb.exact.sums import root_sum_square
from refdb.problems import LedgerError
from refdb.recommend.evidence import FROM_SEEN, input_of, speaks_for_others
from refdb.recommend.policy import Analogue
from refdb.records import digest, number_text
from refdb.records.models import Input, RecommendedUncertainty, RecommendedValue, Subject
from refdb.records.rules import ANALOGUE


def estimate_analogues(
    subjects: Iterable[Subject], rows: Mapping[str, RecommendedValue], analogues: Sequence[Analogue]
) -> dict[str, RecommendedValue]:
    """A row for every written analogue whose relative has a published or derived value and whose own is missing.

    Args:
        rows: what is published or derived, by row id.

    Raises:
        LedgerError: an analogue names a subject that does not exist.
    """
    known = {subject.id for subject in subjects}
    unknown = [name for entry in analogues for name in (entry.subject, entry.of) if name not in known]
    if unknown:
        raise LedgerError([f"sources/rules: analogue: there is no subject '{name}'" for name in unknown])
    found: dict[str, RecommendedValue] = {}
    for entry in analogues:
        for property_id in entry.properties:
            relative = rows.get(f"{entry.of}.{property_id}")
            row_id = f"{entry.subject}.{property_id}"
            if relative is not None and _may_stand_for_another(relative) and row_id not in rows:
                found[row_id] = _row(row_id, entry, relative)
    return found


def _may_stand_for_another(row: RecommendedValue) -> bool:
    """A solid's value at room temperature, or a liquid's curve whose uncertainty is a part of it."""
    return speaks_for_others(row) or (row.rung in FROM_SEEN and row.uncertainty.unit == "%")


def _input(relative: RecommendedValue, note: str) -> Input:
    if speaks_for_others(relative):
        return input_of(relative, "1", note)
    return Input(id=relative.id, digest=digest(relative.plain()), weight="1", note=note)


def _row(row_id: str, entry: Analogue, relative: RecommendedValue) -> RecommendedValue:
    own = float(relative.uncertainty.number)
    in_percent = relative.uncertainty.unit == "%"
    size = 100.0 if in_percent else abs(float(relative.form["coefficients"]["c0"]))
    difference = float(entry.difference) * size
    return RecommendedValue(
        id=row_id,
        subject=entry.subject,
        property=relative.property,
        unit=relative.unit,
        form=relative.form,
        domain=relative.domain,
        frequency=relative.frequency,
        uncertainty=RecommendedUncertainty(
            number=number_text(root_sum_square(own, difference), 2),
            unit=relative.uncertainty.unit,
            code="propagated",
            text=f"that of {entry.of}, and {entry.difference} of the value for how the two may differ (judgement)",
        ),
        rule=ANALOGUE.name,
        basis="estimated",
        seen=relative.seen,
        rung="analogue",
        inputs=[_input(relative, f"{entry.of} stands for {entry.subject}")],
        working={"reason": entry.reason, "relative_difference": entry.difference},
    )
