"""Rules `dead-oil/1` and `viscosity-line/1`: oils from their density, and their viscosity through two readings."""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from refdb.constants import KELVIN_AT_0_CELSIUS, ROOM_CELSIUS
from refdb.exact.functions import EXACT, exp, log10
from refdb.exact.sums import root_mean_square, root_sum_square
from refdb.forms import make_form
from refdb.forms.oil import SHIFT
from refdb.problems import LedgerError
from refdb.recommend.evidence import RECTANGULAR, weakest_basis, weakest_seen
from refdb.recommend.oils.lines import PrintedPoint, points_of
from refdb.recommend.policy import Oil, OilPolicy, ProductExpansion, ViscosityLine
from refdb.records import digest, number_text, printed_number
from refdb.records.models import (
    AnyRecord,
    Input,
    LeftOut,
    PrintedInterval,
    PropertyReading,
    RecommendedUncertainty,
    RecommendedValue,
    Surface,
)
from refdb.records.rules import DEAD_OIL, VISCOSITY_LINE
from refdb.units import UnitTable

BASE_CELSIUS = 15.0
"""Where the expansion of the classes of products is told (ISO 91-1)."""

MODEL_CELSIUS = (60.0 - 32.0) / 1.8
"""Where the equation of speed takes its density: 60 degF, which its authors write as 15.6 degC."""

WATER = 999.016
"""kg/m3 at 60 degF (API MPMS 11.1): the authors' density in g/cm3 is 141.5/(degAPI + 131.5), relative to this."""

LARGEST_PRESSURE = "20"
"""MPa; the equation is coded for more, and no pipe that a clamp-on meter sits on needs it."""

UNCERTAIN_EXPANSION = 0.05
"""Relative standard uncertainty of an oil's coefficient of expansion within its class (judgement)."""

SETTLED = 30
"""Steps after which the density at 15 degC no longer changes; each gains two digits."""


@dataclass(frozen=True, slots=True)
class BaseDensity:
    """The density of an oil at 15 degC in kg/m3, its standard uncertainty, and its coefficient of expansion in 1/K."""

    value: float
    uncertainty: float
    expansion: float

    def at(self, celsius: float) -> float:
        """The density at a temperature."""
        return float(make_form(self.spec(), EXACT).value(celsius))

    def spec(self) -> dict[str, Any]:
        """The description of the density as a function of temperature."""
        coefficients = {
            "c0": number_text(self.value, 6),
            "a0": number_text(self.expansion, 5),
            "t0": f"{BASE_CELSIUS:g}",
        }
        variable = {"name": "temperature", "unit": "degC"}
        return {"name": "oil-expansion/1", "variable": variable, "coefficients": coefficients}


def speed_terms(density: float) -> list[list[float]]:
    """Equation 20a of Batzle and Wang (1992) for one oil, as terms in temperature (degC) and pressure (MPa).

    Args:
        density: relative, at 60 degF and 1 atm, 141.5/(degAPI + 131.5); from 0.5 to 1.08.
    """
    together = 0.0115 * (4.12 * math.sqrt(1.08 / density - 1.0) - 1.0)
    return [
        [2096.0 * math.sqrt(density / (2.6 - density)), 0.0, 0.0],
        [-3.7, 1.0, 0.0],
        [4.64, 0.0, 1.0],
        [together, 1.0, 1.0],
    ]


def expansion_at_15(density: float, product: ProductExpansion) -> float:
    """The coefficient of thermal expansion at 15 degC in 1/K of a product with this density there, in kg/m3."""
    return float(product.k0) / (density * density) + float(product.k1) / density


def base_density(points: Sequence[PrintedPoint], product: ProductExpansion, spread: float) -> BaseDensity:
    """The density at 15 degC from densities in kg/m3 at the temperatures at which they are printed."""
    found = [_at_15(point.value, point.celsius, product) for point in points]
    value = statistics.fmean(found)
    printed = root_mean_square(point.half_width / RECTANGULAR for point in points)
    uncertainty = root_sum_square(spread * value, printed, statistics.pstdev(found))
    return BaseDensity(value, uncertainty, expansion_at_15(value, product))


def _at_15(density: float, celsius: float, product: ProductExpansion) -> float:
    base = density
    for _ in range(SETTLED):
        grown = expansion_at_15(base, product) * (celsius - BASE_CELSIUS)
        base = density * exp(grown * (1.0 + 0.8 * grown))
    return base


def recommend_oils(
    oils: Iterable[Oil], model: OilPolicy | None, records: Mapping[str, AnyRecord], table: UnitTable
) -> dict[str, RecommendedValue]:
    """The rows of every oil of the policy, by id.

    Args:
        records: the ledger's, for the readings of density and the one that prints the equation of speed.

    Raises:
        LedgerError: the policy names a reading, a class of products or an equation that is not there.
    """
    found: dict[str, RecommendedValue] = {}
    for oil in oils:
        if model is None or oil.product not in model.expansion:
            raise LedgerError([f"sources/rules: oil {oil.subject}: there is no expansion of '{oil.product}'"])
        readings = [_reading(oil, name, records) for name in oil.density]
        points = [point for reading in readings for point in points_of(reading, "kg/m3", table)]
        base = base_density(points, model.expansion[oil.product], float(oil.spread))
        for property_id in oil.properties:
            row = (
                _density_row(oil, base, readings, model)
                if property_id == "density"
                else _speed_row(oil, base, readings, _equation(model, records))
            )
            found[row.id] = row
    return found


def _reading(oil: Oil, name: str, records: Mapping[str, AnyRecord]) -> PropertyReading:
    reading = records.get(name)
    if not isinstance(reading, PropertyReading) or reading.property != "density" or reading.doubts:
        raise LedgerError([f"sources/rules: oil {oil.subject}: '{name}' is no usable reading of a density"])
    return reading


def _equation(model: OilPolicy, records: Mapping[str, AnyRecord]) -> Surface:
    equation = records.get(model.speed_equation)
    if not isinstance(equation, Surface):
        raise LedgerError([f"sources/rules: oil_model: '{model.speed_equation}' is no equation of the speed of sound"])
    return equation


def _density_row(
    oil: Oil, base: BaseDensity, readings: Sequence[PropertyReading], model: OilPolicy
) -> RecommendedValue:
    ends = [printed_number(oil.temperature.low), printed_number(oil.temperature.high)]
    farthest = max(abs(end - BASE_CELSIUS) for end in ends)
    grown = UNCERTAIN_EXPANSION * base.expansion * farthest * base.value / RECTANGULAR
    product = model.expansion[oil.product]
    return _row(
        oil,
        "density",
        "kg/m3",
        readings,
        form=base.spec(),
        domain={"temperature": oil.temperature},
        uncertainty=root_sum_square(base.uncertainty, grown),
        words="what the density of one delivery may differ by, and how far its expansion is known",
        working={
            "density_at_15_degc": f"{number_text(base.value, 6)} kg/m3",
            "standard_uncertainty_at_15_degc": f"{number_text(base.uncertainty, 2)} kg/m3",
            "expansion": f"K0 = {product.k0}, K1 = {product.k1} ({oil.product}; {product.source}: {product.reason})",
        },
    )


def _speed_row(oil: Oil, base: BaseDensity, readings: Sequence[PropertyReading], equation: Surface) -> RecommendedValue:
    density = base.at(MODEL_CELSIUS) / WATER
    excess = 1.0 + float(oil.excess or 0.0)
    terms = [[coefficient / excess, *powers] for coefficient, *powers in speed_terms(density)]
    value = terms[0][0] + terms[1][0] * ROOM_CELSIUS
    step = base.uncertainty / WATER
    by_density = (speed_terms(density + step)[0][0] - speed_terms(density - step)[0][0]) / 2.0
    axes = [{"name": "temperature", "unit": "degC"}, {"name": "pressure", "unit": "MPa"}]
    printed = [[number_text(term[0], 6), *(f"{power:g}" for power in term[1:])] for term in terms]
    return _row(
        oil,
        "sound_speed",
        "m/s",
        readings,
        form={"name": "power-sum/1", "axes": axes, "terms": printed},
        domain={
            "temperature": oil.temperature,
            "pressure": PrintedInterval(low="0", high=LARGEST_PRESSURE, unit="MPa"),
        },
        uncertainty=root_sum_square(float(oil.difference) * value, by_density),
        words=f"{oil.difference} of the value for the model (judgement), and {number_text(abs(by_density), 2)} m/s for "
        "what the density may differ by",
        working={
            "relative_density_60_60_degf": number_text(density, 6),
            "standard_uncertainty_of_density": f"{number_text(base.uncertainty, 2)} kg/m3",
            "relative_difference_of_the_model": oil.difference,
            **({"relative_excess_taken_off": oil.excess} if oil.excess else {}),
        },
        also=[Input(id=equation.id, digest=digest(equation.plain()), note="the equation, at another density")],
    )


def _row(
    oil: Oil,
    property_id: str,
    unit: str,
    readings: Sequence[PropertyReading],
    *,
    form: dict[str, Any],
    domain: Any,
    uncertainty: float,
    words: str,
    working: dict[str, str],
    also: Sequence[Input] = (),
) -> RecommendedValue:
    seen = weakest_seen(reading.seen for reading in readings)
    # The expansion is that of petroleum: a density by it is derived, whatever the speed is.
    rung = "derived" if property_id == "density" else oil.rung
    return RecommendedValue(
        id=f"{oil.subject}.{property_id}",
        subject=oil.subject,
        property=property_id,
        unit=unit,
        form=form,
        domain=domain,
        uncertainty=RecommendedUncertainty(
            number=number_text(uncertainty, 2), unit=unit, code="propagated", text=words
        ),
        rule=DEAD_OIL.name,
        basis=weakest_basis(
            [*(reading.basis for reading in readings), "derived" if rung == "derived" else "estimated"]
        ),
        seen=seen,
        rung="memory" if seen == "memory" else rung,
        inputs=[
            *(Input(id=reading.id, digest=digest(reading.plain()), note="density") for reading in readings),
            *also,
        ],
        working={"reason": oil.reason, **working},
    )


def _percent(value: float, other: float) -> str:
    """By what part a value differs from another."""
    return f"{100.0 * (value / other - 1.0):+.2g} %"


def walther_constants(celsius: tuple[float, float], viscosities: tuple[float, float]) -> tuple[float, float]:
    """The constants c1 and c2 of form `walther/1` for the line through two viscosities.

    Args:
        celsius: two different temperatures in degC.
        viscosities: the kinematic viscosities there, in mm2/s.
    """
    first, second = (log10(log10(viscosity + SHIFT)) for viscosity in viscosities)
    t1, t2 = (log10(t + KELVIN_AT_0_CELSIUS) for t in celsius)
    slope = (first - second) / (t2 - t1)
    return first + slope * t1, slope


def recommend_viscosity(line: ViscosityLine, readings: Sequence[PropertyReading], table: UnitTable) -> RecommendedValue:
    """The row that runs through the two readings that `line` names.

    Raises:
        LedgerError: one of them is no usable single value, or both stand at one temperature.
    """
    points = {reading.id: points_of(reading, "m2/s", table) for reading in readings if not reading.doubts}
    chosen = [reading for name in line.readings for reading in readings if reading.id == name and points.get(name)]
    if len(chosen) < 2 or points[chosen[0].id][0].celsius == points[chosen[1].id][0].celsius:
        raise LedgerError([f"sources/rules: viscosity {line.row}: needs two usable values at two temperatures"])
    (low, *_), (high, *_) = (points[reading.id] for reading in chosen)
    constants = walther_constants((low.celsius, high.celsius), (low.value * 1e6, high.value * 1e6))
    coefficients = {"c0": "1e-06", **{f"c{n}": number_text(c, 8) for n, c in enumerate(constants, start=1)}}
    form = {
        "name": "walther/1",
        "variable": {"name": "temperature", "unit": "degC"},
        "coefficients": coefficients,
    }
    curve = make_form(form, EXACT)
    compared = [
        Input(
            id=reading.id,
            digest=digest(reading.plain()),
            weight="0",
            note=f"compared: {_percent(point.value, curve.value(point.celsius))} at {point.celsius:g} degC",
        )
        for reading in readings
        for point in points.get(reading.id, [])
        if reading not in chosen
    ]
    return RecommendedValue(
        id=line.row,
        subject=chosen[0].subject,
        property=chosen[0].property,
        unit="m2/s",
        form=form,
        domain={"temperature": line.temperature},
        uncertainty=RecommendedUncertainty(
            number=line.percent,
            unit="%",
            code="family-repeatability",
            text="what one delivery may differ by (judgement)",
        ),
        rule=VISCOSITY_LINE.name,
        basis=weakest_basis(reading.basis for reading in chosen),
        seen=weakest_seen(reading.seen for reading in chosen),
        rung="memory" if any(reading.seen == "memory" for reading in chosen) else "published",
        inputs=[*(Input(id=r.id, digest=digest(r.plain()), weight="1", note="followed") for r in chosen), *compared],
        left_out=[
            LeftOut(id=r.id, digest=digest(r.plain()), reason="; ".join(f"{f.code}: {f.text}" for f in r.doubts))
            for r in readings
            if r.doubts
        ]
        or None,
        working={"reason": line.reason},
    )
