"""Rule `curve-fit/2`: a liquid without an equation of state, from a handbook's curve or from measured points.

One low polynomial in temperature over the range of the evidence, for the value or its logarithm. Pressure enters only
as a limit: from saturation to 1 MPa, with what that neglects in the uncertainty.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from refdb.recommend.evidence import weakest_basis, weakest_seen
from refdb.recommend.liquids.bounds import LiquidBounds
from refdb.recommend.liquids.curve_points import series_of
from refdb.recommend.liquids.handbook_curve import HandbookCurve
from refdb.recommend.liquids.measured_curve import MeasuredCurve
from refdb.recommend.liquids.temperature_curve import FittedCurve, left_out_of
from refdb.recommend.policy import CurveFit
from refdb.records import number_text
from refdb.records.models import (
    Grid,
    LeftOut,
    PropertyReading,
    RecommendedUncertainty,
    RecommendedValue,
    Source,
    Subject,
)
from refdb.records.rules import CURVE_FIT_EXACT
from refdb.units import UnitTable


class CurveFitting:
    """Applies the rule to the readings of one property of one liquid.

    Args:
        policy: what is written about the property.
        liquid: where the liquid ends.
        si: the property's SI unit.
    """

    def __init__(
        self, policy: CurveFit, liquid: LiquidBounds, sources: Mapping[str, Source], si: str, table: UnitTable
    ) -> None:
        self._policy = policy
        self._liquid = liquid
        self._si = si
        self._table = table
        self._handbook = HandbookCurve(policy, liquid)
        self._measured = MeasuredCurve(policy, liquid, sources)

    def recommend(self, subject: Subject, readings: Sequence[PropertyReading]) -> RecommendedValue | None:
        """The row, or None where no reading can be used."""
        left_out: dict[str, LeftOut] = {}
        usable = []
        for reading in sorted(readings, key=lambda reading: reading.id):
            if isinstance(reading, Grid):
                continue
            series, reason = series_of(reading, self._si, self._policy, self._table)
            if series is None:
                left_out[reading.id] = left_out_of(reading, reason)
            else:
                usable.append(series)
        fitted = self._handbook.followed(usable)
        if fitted is None:
            measured = [series for series in usable if series.reading.basis != "computed"]
            fitted = self._measured.through(measured, left_out)
        return None if fitted is None else self._row(subject, fitted, list(left_out.values()))

    def _row(self, subject: Subject, fitted: FittedCurve, left_out: list[LeftOut]) -> RecommendedValue:
        curve, liquid = fitted.curve, self._liquid
        saturation = liquid.saturation_spec(curve.low, curve.high, self._table)
        return RecommendedValue(
            id=f"{subject.id}.{self._policy.property}",
            subject=subject.id,
            property=self._policy.property,
            unit=self._si,
            form=curve.spec(saturation),
            domain=liquid.domain(number_text(curve.low, 7), number_text(curve.high, 7), saturation is not None),
            uncertainty=RecommendedUncertainty(
                number=number_text(100.0 * fitted.relative, 2),
                unit="%",
                code=fitted.code,
                text=fitted.text,
                per_megapascal=self._policy.per_megapascal if saturation is not None else None,
            ),
            rule=CURVE_FIT_EXACT.name,
            basis=weakest_basis(reading.basis for reading in fitted.used),
            seen=weakest_seen(reading.seen for reading in fitted.used),
            rung="published",
            inputs=fitted.inputs + liquid.inputs(saturation is not None),
            left_out=sorted(left_out, key=lambda entry: entry.id) or None,
            freezes_at=liquid.freezes_at,
            working=fitted.working | {"reason": self._policy.reason},
        )
