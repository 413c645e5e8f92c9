"""Rows of solutions: published correlations, surfaces through measured points, and what stands in for a sound speed."""

from __future__ import annotations

import statistics
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from typing import Any

import numpy as np

from refdb.exact.functions import EXACT, log
from refdb.exact.least_squares import fitted, polynomial
from refdb.exact.sums import Array, root_sum_square
from refdb.forms import ScaledPolynomial
from refdb.problems import LedgerError
from refdb.recommend.evidence import RECTANGULAR, weakest_basis, weakest_seen
from refdb.recommend.liquids.grid import grid_spec
from refdb.recommend.smallness import told
from refdb.recommend.solution_policy import (
    Percent,
    SolutionAnalogue,
    SolutionGrid,
    SolutionPolicy,
    SurfaceChoice,
    ThermodynamicSpeed,
)
from refdb.recommend.solutions.bounds import BOUNDING, bounded
from refdb.recommend.solutions.points import PURE, Point, document_weights, points_of
from refdb.recommend.solutions.surface_fit import Order, SurfaceFit, fit_surface, resample
from refdb.recommend.steps import Reads
from refdb.records import digest, number_text, printed_number
from refdb.records.models import (
    AnyInterval,
    AnyRecord,
    Grid,
    Input,
    LeftOut,
    PrintedInterval,
    PropertyReading,
    RecommendedUncertainty,
    RecommendedValue,
    StateVariable,
    UnfrozenInterval,
)
from refdb.records.rules import (
    SOLUTION_ANALOGUE_EXACT,
    SOLUTION_GRID_EXACT,
    SURFACE_FIT_EXACT,
    THERMODYNAMIC_SPEED_EXACT,
    Rule,
)
from refdb.units import UnitTable

Rows = dict[str, RecommendedValue]
Spans = tuple[tuple[float, float], tuple[float, float]]
Choice = SolutionGrid | SurfaceChoice | ThermodynamicSpeed | SolutionAnalogue
Taken = Callable[[str, Callable[[], Reads], Callable[[], Iterable[RecommendedValue]]], list[RecommendedValue]]
"""Takes a step by its name, what it reads and what makes its rows."""

ATMOSPHERE = 0.101325
"""MPa, the unit of the pressure in the rows of water."""

KELVIN = 273.15
TEMPERATURE_NODES = 12
STRENGTH_NODES = 12
COLDEST_WATER = -0.05
"""degC; below, there is no liquid water for a surface to begin at."""


@dataclass(frozen=True)
class _Evidence:
    """The readings of one property of one solution: grids by id, points, and what gives no points."""

    grids: Mapping[str, Grid]
    points: list[Point]
    left_out: list[tuple[PropertyReading, str]]


@dataclass(frozen=True)
class _Work:
    """Readings by row, rows of pure liquids, what takes a step, and the rows of solutions so far."""

    by_row: Mapping[str, list[PropertyReading]]
    published: Mapping[str, RecommendedValue]
    taken: Taken
    rows: Rows


class Solutions:
    """The rows of all solutions, from the readings and from the rows of water."""

    def __init__(
        self,
        policy: SolutionPolicy,
        ledger: Mapping[str, AnyRecord],
        properties: Mapping[str, Mapping[str, Any]],
        table: UnitTable,
    ) -> None:
        self._policy = policy
        self._grids = {row: record for row, record in ledger.items() if isinstance(record, Grid)}
        self._properties = properties
        self._table = table

    def rows(
        self, readings: Sequence[PropertyReading], published: Mapping[str, RecommendedValue], taken: Taken
    ) -> Rows:
        """Every row that the policy names and the readings bear.

        Args:
            readings: of solutions.
            published: rows of pure liquids; those of water are where solutions begin.
            taken: takes a step, or carries its rows forward.

        Raises:
            LedgerError: a reading that the policy names is not a usable grid.
        """
        by_row: dict[str, list[PropertyReading]] = {}
        for reading in readings:
            by_row.setdefault(f"{reading.subject}.{reading.property}", []).append(reading)
        work = _Work(by_row, published, taken, {})
        for grid in sorted(self._policy.grids, key=_guarded_later):
            if grid.row in by_row:
                beside = _water_row(grid.row, published)
                make = partial(self._grid, grid, by_row[grid.row], published)
                self._add(work, grid, SOLUTION_GRID_EXACT, make, [beside] if beside is not None else [])
        for surface in self._policy.surfaces:
            water = _water_row(surface.row, published)
            if surface.row in by_row and water is not None:
                make = partial(self._surface, surface, by_row[surface.row], water)
                self._add(work, surface, SURFACE_FIT_EXACT, make, [water])
        for speed in self._policy.speeds:
            self._add(work, speed, THERMODYNAMIC_SPEED_EXACT, partial(self._speed, speed), [])
        for analogue in self._policy.analogues:
            relative = work.rows.get(analogue.of)
            if relative is not None and analogue.row in by_row:
                beyond = published["water.sound_speed"]
                make = partial(self._analogue, analogue, by_row[analogue.row], by_row[analogue.of], relative, beyond)
                self._add(work, analogue, SOLUTION_ANALOGUE_EXACT, make, [relative, beyond])
        return work.rows

    def _add(
        self,
        work: _Work,
        choice: Choice,
        rule: Rule,
        make: Callable[[], RecommendedValue],
        rests_on: Sequence[RecommendedValue],
    ) -> None:
        """Take the step of one row, and guard the row by what is known of where the solution freezes and boils."""
        subject, property_id = choice.row.split(".")
        water = self._water_bound(subject, work.published)
        guards = [work.rows[bound] for name in BOUNDING if (bound := f"{subject}.{name}") in work.rows]
        other = choice.of if isinstance(choice, SolutionAnalogue) else choice.row

        def reads() -> Reads:
            return Reads(
                (rule,),
                (choice, self._policy.molar_masses.get(subject), self._properties[property_id]["si"]),
                [*work.by_row.get(choice.row, []), *work.by_row.get(other, []), *self._named(choice)],
                [*rests_on, *guards, *([water] if water is not None else [])],
            )

        for row in work.taken(f"solution {choice.row}", reads, lambda: [bounded(make(), work.rows, water)]):
            work.rows[row.id] = row

    def _named(self, choice: Choice) -> list[Grid]:
        """The grids that an entry of the policy names."""
        names = (getattr(choice, part, None) for part in ("reading", "density", "bulk_modulus", "specific_heat"))
        return [self._grids[name] for name in names if name in self._grids]

    def _water_bound(self, subject: str, published: Mapping[str, RecommendedValue]) -> RecommendedValue | None:
        """The saturation pressure of water, where what is dissolved in it hardly evaporates."""
        return published.get("water.saturation_pressure") if subject in self._policy.hardly_evaporating else None

    def _evidence(self, readings: Sequence[PropertyReading]) -> _Evidence:
        subject, si = readings[0].subject, self._properties[readings[0].property]["si"]
        points, left_out = points_of(readings, si, self._policy.molar_masses[subject], self._table)
        return _Evidence({r.id: r for r in readings if isinstance(r, Grid)}, points, left_out)

    def _grid(
        self,
        choice: SolutionGrid,
        readings: Sequence[PropertyReading],
        published: Mapping[str, RecommendedValue],
    ) -> RecommendedValue:
        evidence = self._evidence(readings)
        grid = self._usable(choice.row, choice.reading)
        spec = grid_spec(grid, self._grids, self._table)
        form = ScaledPolynomial(spec, EXACT)
        compared = _compared_points(form, grid, evidence.points) + _compared_water(form, grid, published)
        largest = 100.0 * max((abs(entry.relative) for entry in compared), default=0.0)
        unit = grid.unit
        uncertainty = (
            _stated_in(choice.uncertainty, unit)
            if grid.property == "freezing_point"
            else _percent(choice.uncertainty, largest / RECTANGULAR, "largest disagreement with points and with water")
        )
        return RecommendedValue(
            id=choice.row,
            subject=grid.subject,
            property=grid.property,
            unit=unit,
            form=spec,
            domain=_domain(grid),
            uncertainty=uncertainty,
            rule=SOLUTION_GRID_EXACT.name,
            basis=weakest_basis([grid.basis]),
            seen=weakest_seen([grid.seen]),
            rung="published",
            inputs=[
                _followed(grid),
                *([_bound(self._grids[grid.freezing])] if grid.freezing is not None else []),
                *(entry.input() for entry in compared),
            ],
            left_out=_left_out(evidence.left_out) or None,
            working={
                "reason": choice.reason,
                "fit_error": f"{grid.fit_error.number} {grid.fit_error.unit}",
                "largest_disagreement": f"{number_text(largest, 2)} %",
            },
            notes=[grid.note] if grid.note is not None else None,
        )

    def _usable(self, row: str, reading: str) -> Grid:
        grid = self._grids.get(reading)
        if grid is None or grid.doubts or grid.unit != self._properties[grid.property]["si"]:
            raise LedgerError([f"sources/rules/solutions.toml: {row}: '{reading}' is not a usable grid"])
        return grid

    def _surface(
        self, choice: SurfaceChoice, readings: Sequence[PropertyReading], water: RecommendedValue
    ) -> RecommendedValue:
        evidence = self._evidence(readings)
        used = [point for point in evidence.points if _wanted(point, choice)]
        if not used:
            raise LedgerError([f"sources/rules/solutions.toml: {choice.row}: no document measured a usable point"])
        surface = Surface.through(used, water, choice.of)
        spans = surface.spans(choice)
        form, cost = surface.form(spans)
        return RecommendedValue(
            id=choice.row,
            subject=used[0].reading.subject,
            property=water.property,
            unit=water.unit,
            form=form,
            domain=_rectangle(spans),
            uncertainty=_predictive(choice.uncertainty, 100.0 * surface.relative(surface.fit.left_out_rms)),
            rule=SURFACE_FIT_EXACT.name,
            basis=weakest_basis([point.reading.basis for point in used]),
            seen=weakest_seen([point.reading.seen for point in used]),
            rung="published",
            inputs=[
                Input(id=water.id, digest=digest(water.plain()), note="where the surface begins, at strength 0"),
                *_fitted_inputs(used, surface),
            ],
            left_out=_left_out([*evidence.left_out, *_unwanted(evidence.points, used)]) or None,
            working={
                "reason": choice.reason,
                **surface.working(),
                "joining": told(cost, 2, "of the value" if surface.logarithm else water.unit),
            },
        )

    def _speed(self, choice: ThermodynamicSpeed) -> RecommendedValue:
        grids = [self._usable(choice.row, r) for r in (choice.density, choice.bulk_modulus, choice.specific_heat)]
        density, modulus, heat = (ScaledPolynomial(grid_spec(grid, self._grids, self._table), EXACT) for grid in grids)
        spans = (_ends(choice.temperature), _ends(choice.strength))

        def speed(celsius: Array, strength: Array) -> Array:
            return thermodynamic_speed(density, modulus, heat, celsius, strength)

        coefficients, cost = resample(speed, spans, (TEMPERATURE_NODES, STRENGTH_NODES))
        return RecommendedValue(
            id=choice.row,
            subject=grids[0].subject,
            property="sound_speed",
            unit="m/s",
            form=_form(coefficients, spans, "value"),
            domain=_rectangle(spans),
            uncertainty=_percent(choice.uncertainty, 0.0, ""),
            rule=THERMODYNAMIC_SPEED_EXACT.name,
            basis="derived",
            seen=weakest_seen([grid.seen for grid in grids]),
            rung="derived",
            inputs=[
                Input(id=grid.id, digest=digest(grid.plain()), note=note)
                for grid, note in zip(grids, ("density and its slope", "isothermal", "heat capacity"), strict=True)
            ],
            working={"reason": choice.reason, "joining": told(cost, 2, "m/s")},
        )

    def _analogue(
        self,
        choice: SolutionAnalogue,
        own: Sequence[PropertyReading],
        other: Sequence[PropertyReading],
        relative: RecommendedValue,
        water: RecommendedValue,
    ) -> RecommendedValue:
        return _analogue(choice, self._evidence(own), self._evidence(other), relative, water)


def _analogue(
    choice: SolutionAnalogue,
    own: _Evidence,
    other: _Evidence,
    relative: RecommendedValue,
    water: RecommendedValue,
) -> RecommendedValue:
    spans = (_ends(choice.temperature), (0.0, 1.0))
    theirs = continued(relative, water)
    ratio = pure_ratio(own.points, other.points, choice.row)

    def speed(celsius: Array, strength: Array) -> Array:
        return np.asarray(theirs(celsius, strength) * (1.0 + strength * (ratio(celsius) - 1.0)))

    coefficients, cost = resample(speed, spans, (TEMPERATURE_NODES, STRENGTH_NODES))
    pure = sorted({p.reading.id: p.reading for p in own.points if p.strength > PURE}.items())
    found = root_sum_square(float(relative.uncertainty.number), printed_number(choice.beyond.number))
    return RecommendedValue(
        id=choice.row,
        subject=choice.row.split(".")[0],
        property=relative.property,
        unit=relative.unit,
        form=_form(coefficients, spans, "value"),
        domain=_rectangle(spans),
        uncertainty=_predictive(choice.uncertainty, found),
        rule=SOLUTION_ANALOGUE_EXACT.name,
        basis="estimated",
        seen=weakest_seen([relative.seen, *(reading.seen for _, reading in pure)]),
        rung="analogue",
        inputs=[
            Input(id=relative.id, digest=digest(relative.plain()), weight="1", note="the homologue's solution"),
            Input(id=water.id, digest=digest(water.plain()), note="water, beyond where the homologue is measured"),
            *(Input(id=row, digest=digest(r.plain()), note="the pure liquid") for row, r in pure),
        ],
        left_out=_left_out(own.left_out) or None,
        working={
            "reason": choice.reason,
            "joining": told(cost, 2, "m/s"),
            "beyond": f"{choice.beyond.number} % at most for {choice.beyond.text}",
        },
    )


def continued(row: RecommendedValue, water: RecommendedValue) -> Callable[[Array, Array], Array]:
    """A row of a solution; beyond its temperatures its excess over water goes on with the slope and bend it ends with.

    Water's own curve is known there, and it is what bends most; the excess of aqueous solutions is close to a parabola.
    """
    form, pure = ScaledPolynomial(row.form, EXACT), ScaledPolynomial(water.form, EXACT)
    low, high = _ends(row.domain["temperature"])

    def slope(celsius: Array, strength: Array) -> Array:
        at_atmosphere = np.full_like(celsius, ATMOSPHERE)
        return np.asarray(form.slopes(celsius, strength)[0] - pure.slopes(celsius, at_atmosphere)[0])

    def value(celsius: Array, strength: Array) -> Array:
        end = np.clip(celsius, low, high)
        away = celsius - end
        bend = (slope(np.full_like(end, high), strength) - slope(np.full_like(end, low), strength)) / (high - low)
        excess = slope(end, strength) * away + 0.5 * bend * away * away
        return np.asarray(
            form.value(end, strength) + _at_atmosphere(pure, celsius) - _at_atmosphere(pure, end) + excess
        )

    return value


def _water_row(row: str, published: Mapping[str, RecommendedValue]) -> RecommendedValue | None:
    """The row of water for the property of another row."""
    return published.get(f"water.{row.rsplit('.', 1)[1]}")


def _guarded_later(choice: SolutionGrid) -> bool:
    """Sorts what tells where a solution freezes or boils before the rows that it guards."""
    return choice.row.rsplit(".", 1)[1] not in BOUNDING


@dataclass(frozen=True)
class Surface:
    """A fitted surface on top of the row of water, near 1 atm."""

    water: ScaledPolynomial
    fit: SurfaceFit
    logarithm: bool
    typical: float

    @classmethod
    def through(cls, points: Sequence[Point], water: RecommendedValue, of: str, order: Order | None = None) -> Surface:
        """The surface through points, in the unit of water's row; `of` is the value or its logarithm.

        Args:
            order: of the surface, where it is not to be chosen.
        """
        form, logarithm = ScaledPolynomial(water.form, EXACT), of == "logarithm"
        key = tuple(
            (p.celsius, p.strength, p.value, weight) for p, weight in zip(points, document_weights(points), strict=True)
        )
        celsius, values = (np.array([row[place] for row in key]) for place in (0, 2))
        base = _at_atmosphere(form, celsius)
        difference = log(values / base) if logarithm else values - base
        fit = _remembered_fit(key, tuple(difference.tolist()), order)
        return cls(form, fit, logarithm, statistics.median(values.tolist()))

    def value(self, celsius: Any, strength: Any) -> Array:
        """The surface at temperatures in degC and mass fractions, in the unit of water's row; or its logarithm."""
        base = _at_atmosphere(self.water, np.asarray(celsius, dtype=float))
        return np.asarray((log(base) if self.logarithm else base) + self.fit.difference(celsius, strength))

    def relative(self, error: float) -> float:
        """An error of the fit as a fraction of the value."""
        return error if self.logarithm else error / self.typical

    def spans(self, choice: SurfaceChoice) -> Spans:
        """Where the row is answered: where the points lie, or less where the policy says so."""
        span = self.fit.span
        temperature = (max(span.coldest, 0.01), span.hottest)
        return (
            _ends(choice.temperature) if choice.temperature is not None else temperature,
            _ends(choice.strength) if choice.strength is not None else (0.0, span.strongest),
        )

    def form(self, spans: Spans) -> tuple[dict[str, Any], float]:
        """The surface as one polynomial, and what joining its nodes costs: relative for a logarithm."""
        nodes = (TEMPERATURE_NODES, max(STRENGTH_NODES, self.fit.order.excess + 3))
        coefficients, cost = resample(self.value, spans, nodes)
        return _form(coefficients, spans, "logarithm" if self.logarithm else "value"), cost

    def working(self) -> dict[str, str]:
        """What was left over, in percent of the value."""
        largest = max(map(abs, self.fit.residuals.tolist()))
        return {
            "points": str(len(self.fit.residuals)),
            "order": f"{self.fit.order.excess} of the excess, {self.fit.order.slopes} of the temperature",
            "residuals": f"{_in_percent(self.relative(self.fit.rms))} % root mean square, "
            f"{_in_percent(self.relative(largest))} % at most",
            "left_out_error": f"{_in_percent(self.relative(self.fit.left_out_rms))} % root mean square",
        }


@lru_cache(maxsize=256)
def _remembered_fit(
    key: tuple[tuple[float, float, float, float], ...], difference: tuple[float, ...], order: Order | None
) -> SurfaceFit:
    """The fit through points; rows are derived many times over when a release is checked."""
    celsius, strength, _, weights = (np.array(column) for column in zip(*key, strict=True))
    return fit_surface(celsius, strength, np.array(difference), weights, order)


def thermodynamic_speed(
    density: ScaledPolynomial, modulus: ScaledPolynomial, heat: ScaledPolynomial, celsius: Any, strength: Any
) -> Array:
    """Sound speed in m/s at temperatures in degC and mass fractions, from forms in kg/m3, Pa and J/(kg.K)."""
    rho = density.value(celsius, strength)
    expansion = -density.slopes(celsius, strength)[0] / rho
    isentropic = 1.0 / modulus.value(celsius, strength) - (celsius + KELVIN) * (expansion * expansion) / (
        rho * heat.value(celsius, strength)
    )
    return np.asarray(1.0 / np.sqrt(rho * isentropic))


def pure_ratio(own: Sequence[Point], other: Sequence[Point], row: str) -> Callable[[Array], Array]:
    """The ratio of two pure liquids as a function of temperature in degC: straight lines through their points.

    Raises:
        LedgerError: one of them has no points at strength 1.
    """
    lines = []
    for points in (own, other):
        pure = [point for point in points if point.strength > PURE]
        if not pure:
            raise LedgerError([f"sources/rules/solutions.toml: {row}: a pure end member has no measured point"])
        several = len({round(point.celsius) for point in pure}) > 1
        places, values = [p.celsius for p in pure], [p.value for p in pure]
        lines.append(fitted(places, values, [1.0] * len(pure), int(several)))
    return lambda celsius: np.asarray(polynomial(lines[0], celsius) / polynomial(lines[1], celsius))


@dataclass(frozen=True)
class _Compared:
    """A reading or a row, its largest relative deviation from a grid, and where that is."""

    id: str
    digest: str
    relative: float
    at: str

    def input(self) -> Input:
        note = f"compared: {100.0 * self.relative:+.2g} % at most, at {self.at}"
        return Input(id=self.id, digest=self.digest, weight="0", note=note)


def _compared_points(form: ScaledPolynomial, grid: Grid, points: Sequence[Point]) -> list[_Compared]:
    """Each reading's largest relative deviation at its own points, where they lie inside the grid."""
    if len(grid.axes) != 2:
        return []
    found: dict[str, _Compared] = {}
    for point in points:
        if point.reading.basis == "computed" or not _inside(grid, point):
            continue
        relative = point.value / float(form.value(point.celsius, point.strength)) - 1.0
        known = found.get(point.reading.id)
        if known is None or abs(relative) > abs(known.relative):
            at = f"{point.celsius:.4g} degC, {point.strength:.3g} kg/kg"
            found[point.reading.id] = _Compared(point.reading.id, digest(point.reading.plain()), relative, at)
    return [found[row] for row in sorted(found)]


def _inside(grid: Grid, point: Point) -> bool:
    return all(
        printed_number(axis.low) <= held <= printed_number(axis.high)
        for axis, held in zip(grid.axes, point.place, strict=True)
    )


def _compared_water(form: ScaledPolynomial, grid: Grid, published: Mapping[str, RecommendedValue]) -> list[_Compared]:
    """The grid at strength 0 beside the row of water, every 5 K."""
    water = published.get(f"water.{grid.property}")
    if water is None or len(grid.axes) != 2 or printed_number(grid.axes[1].low) > 0.0:
        return []
    low, high = (printed_number(text) for text in (grid.axes[0].low, grid.axes[0].high))
    beside = ScaledPolynomial(water.form, EXACT)
    pressure = (ATMOSPHERE,) if "pressure" in beside.variables else ()
    deviations = [
        (float(form.value(t, 0.0)) / float(beside.value(t, *pressure)) - 1.0, t)
        for t in _every(max(low, 0.01), high, 5.0)
    ]
    relative, celsius = max(deviations, key=lambda pair: abs(pair[0]))
    return [_Compared(water.id, digest(water.plain()), -relative, f"{celsius:.4g} degC, strength 0")]


def _every(low: float, high: float, width: float) -> list[float]:
    """Places from end to end, about a width apart."""
    steps = max(1, round((high - low) / width))
    return [low + (high - low) * step / steps for step in range(steps + 1)]


def _fitted_inputs(points: Sequence[Point], surface: Surface) -> list[Input]:
    """Each reading with the largest of its residuals in percent."""
    largest: dict[str, tuple[float, PropertyReading]] = {}
    for point, residual in zip(points, surface.fit.residuals.tolist(), strict=True):
        known = largest.get(point.reading.id)
        if known is None or abs(residual) > abs(known[0]):
            largest[point.reading.id] = (residual, point.reading)
    return [
        Input(
            id=row,
            digest=digest(reading.plain()),
            weight="1",
            note=f"largest residual {100.0 * surface.relative(residual):+.2g} %",
        )
        for row, (residual, reading) in sorted(largest.items())
    ]


def _wanted(point: Point, choice: SurfaceChoice) -> bool:
    return (choice.sources is None or point.reading.source in choice.sources) and point.celsius > COLDEST_WATER


def _unwanted(points: Sequence[Point], used: Sequence[Point]) -> list[tuple[PropertyReading, str]]:
    """Readings none of whose points the surface goes through."""
    through = {point.reading.id for point in used}
    others = {point.reading.id: point.reading for point in points if point.reading.id not in through}
    return [(others[row], "not among the documents that are followed, or colder than water") for row in sorted(others)]


def _followed(grid: Grid) -> Input:
    return Input(id=grid.id, digest=digest(grid.plain()), weight="1", note="followed")


def _bound(grid: Grid) -> Input:
    return Input(id=grid.id, digest=digest(grid.plain()), note="where the liquid freezes")


def _left_out(left_out: Sequence[tuple[PropertyReading, str]]) -> list[LeftOut]:
    return [LeftOut(id=r.id, digest=digest(r.plain()), reason=reason) for r, reason in left_out]


def _domain(grid: Grid) -> dict[StateVariable, AnyInterval]:
    domain: dict[StateVariable, AnyInterval] = {}
    for axis in grid.axes:
        if axis.name == "temperature" and grid.freezing is not None:
            row = f"{grid.subject}.freezing_point"
            domain[axis.name] = UnfrozenInterval(low="freezing", high=axis.high, unit=axis.unit, freezing=row)
        else:
            domain[axis.name] = PrintedInterval(low=axis.low, high=axis.high, unit=axis.unit)
    return domain


def _rectangle(spans: Spans) -> dict[StateVariable, AnyInterval]:
    (coldest, hottest), (weakest, strongest) = spans
    return {
        "temperature": PrintedInterval(low=_text(coldest), high=_text(hottest), unit="degC"),
        "strength": PrintedInterval(low=_text(weakest), high=_text(strongest), unit="kg/kg"),
    }


def _form(coefficients: Sequence[Sequence[float]], spans: Spans, of: str) -> dict[str, Any]:
    axes = zip(("temperature", "strength"), ("degC", "kg/kg"), spans, strict=True)
    return {
        "name": "scaled-polynomial/1",
        "of": of,
        "axes": [{"name": n, "unit": unit, "low": _text(low), "high": _text(high)} for n, unit, (low, high) in axes],
        "coefficients": [[number_text(number, 15) for number in row] for row in coefficients],
    }


def _text(bound: float) -> str:
    """A bound of a domain: six digits are finer than any temperature or strength is set."""
    return f"{bound:.6g}"


def _ends(interval: AnyInterval) -> tuple[float, float]:
    assert isinstance(interval, PrintedInterval)  # noqa: S101 - rectangles only
    return printed_number(interval.low), printed_number(interval.high)


def _at_atmosphere(water: ScaledPolynomial, celsius: Array) -> Array:
    return np.asarray(water.value(celsius, np.full_like(celsius, ATMOSPHERE)))


def _stated_in(stated: Percent, unit: str) -> RecommendedUncertainty:
    return RecommendedUncertainty(number=stated.number, unit=unit, code="stated", text=stated.text)


def _percent(stated: Percent, other: float, text: str) -> RecommendedUncertainty:
    """The stated percentage, or another one where it is larger."""
    as_stated = other <= printed_number(stated.number)
    return RecommendedUncertainty(
        number=stated.number if as_stated else number_text(other, 2),
        unit="%",
        code="stated" if as_stated else "between-sources",
        text=stated.text if as_stated else f"{text}, as a rectangular distribution",
    )


def _predictive(allowance: Percent, found: float) -> RecommendedUncertainty:
    return RecommendedUncertainty(
        number=number_text(root_sum_square(printed_number(allowance.number), found), 2),
        unit="%",
        code="propagated",
        text=f"{_two(found)} % found, and {allowance.number} % for {allowance.text}",
    )


def _two(number: float) -> str:
    return number_text(number, 2)


def _in_percent(fraction: float) -> str:
    return number_text(100.0 * fraction, 2)
