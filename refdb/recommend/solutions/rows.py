"""The rows of solutions: published correlations, fitted surfaces, and what stands in for a sound speed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np

from refdb.exact.functions import EXACT
from refdb.exact.sums import Array, root_sum_square
from refdb.forms import ScaledPolynomial
from refdb.problems import LedgerError
from refdb.recommend.evidence import RECTANGULAR, weakest_basis, weakest_seen
from refdb.recommend.liquids.grid import grid_spec
from refdb.recommend.smallness import told
from refdb.recommend.solution_policy import (
    SolutionAnalogue,
    SolutionGrid,
    SolutionPolicy,
    SurfaceChoice,
    ThermodynamicSpeed,
)
from refdb.recommend.solutions.bounds import BOUNDING, bounded
from refdb.recommend.solutions.comparison import compared_points, compared_water
from refdb.recommend.solutions.pieces import (
    domain_of_grid,
    ends,
    left_out_of,
    predictive,
    rectangle,
    stated_in,
    stated_or_larger,
    surface_form,
)
from refdb.recommend.solutions.points import PURE, Point, points_of
from refdb.recommend.solutions.speeds import continued, pure_ratio, thermodynamic_speed
from refdb.recommend.solutions.surface import STRENGTH_NODES, TEMPERATURE_NODES, SolutionSurface, fitted_inputs
from refdb.recommend.solutions.surface_fit import resample
from refdb.recommend.steps import Reads
from refdb.records import digest, number_text, printed_number
from refdb.records.models import (
    AnyRecord,
    Grid,
    Input,
    PropertyReading,
    RecommendedValue,
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

Choice = SolutionGrid | SurfaceChoice | ThermodynamicSpeed | SolutionAnalogue

Taken = Callable[[str, Callable[[], Reads], Callable[[], Iterable[RecommendedValue]]], list[RecommendedValue]]
"""Takes a step by its name, what it reads and what makes its rows."""

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
        compared = compared_points(form, grid, evidence.points) + compared_water(form, grid, published, self._table)
        largest = 100.0 * max((abs(entry.relative) for entry in compared), default=0.0)
        unit = grid.unit
        uncertainty = (
            stated_in(choice.uncertainty, unit)
            if grid.property == "freezing_point"
            else stated_or_larger(
                choice.uncertainty, largest / RECTANGULAR, "largest disagreement with points and with water"
            )
        )
        return RecommendedValue(
            id=choice.row,
            subject=grid.subject,
            property=grid.property,
            unit=unit,
            form=spec,
            domain=domain_of_grid(grid),
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
            left_out=left_out_of(evidence.left_out) or None,
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
        surface = SolutionSurface.through(used, water, choice.of, self._table)
        spans = surface.spans(choice)
        form, cost = surface.form(spans)
        return RecommendedValue(
            id=choice.row,
            subject=used[0].reading.subject,
            property=water.property,
            unit=water.unit,
            form=form,
            domain=rectangle(spans),
            uncertainty=predictive(choice.uncertainty, 100.0 * surface.relative(surface.fit.left_out_rms)),
            rule=SURFACE_FIT_EXACT.name,
            basis=weakest_basis([point.reading.basis for point in used]),
            seen=weakest_seen([point.reading.seen for point in used]),
            rung="published",
            inputs=[
                Input(id=water.id, digest=digest(water.plain()), note="where the surface begins, at strength 0"),
                *fitted_inputs(used, surface),
            ],
            left_out=left_out_of([*evidence.left_out, *_unwanted(evidence.points, used)]) or None,
            working={
                "reason": choice.reason,
                **surface.working(),
                "joining": told(cost, 2, "of the value" if surface.logarithm else water.unit),
            },
        )

    def _speed(self, choice: ThermodynamicSpeed) -> RecommendedValue:
        grids = [self._usable(choice.row, r) for r in (choice.density, choice.bulk_modulus, choice.specific_heat)]
        density, modulus, heat = (ScaledPolynomial(grid_spec(grid, self._grids, self._table), EXACT) for grid in grids)
        spans = (ends(choice.temperature), ends(choice.strength))

        def speed(celsius: Array, strength: Array) -> Array:
            return thermodynamic_speed(density, modulus, heat, celsius, strength)

        coefficients, cost = resample(speed, spans, (TEMPERATURE_NODES, STRENGTH_NODES))
        return RecommendedValue(
            id=choice.row,
            subject=grids[0].subject,
            property="sound_speed",
            unit="m/s",
            form=surface_form(coefficients, spans, "value"),
            domain=rectangle(spans),
            uncertainty=stated_or_larger(choice.uncertainty, 0.0, ""),
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
        return _analogue(choice, self._evidence(own), self._evidence(other), relative, water, self._table)


def _analogue(
    choice: SolutionAnalogue,
    own: _Evidence,
    other: _Evidence,
    relative: RecommendedValue,
    water: RecommendedValue,
    table: UnitTable,
) -> RecommendedValue:
    spans = (ends(choice.temperature), (0.0, 1.0))
    theirs = continued(relative, water, table)
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
        form=surface_form(coefficients, spans, "value"),
        domain=rectangle(spans),
        uncertainty=predictive(choice.uncertainty, found),
        rule=SOLUTION_ANALOGUE_EXACT.name,
        basis="estimated",
        seen=weakest_seen([relative.seen, *(reading.seen for _, reading in pure)]),
        rung="analogue",
        inputs=[
            Input(id=relative.id, digest=digest(relative.plain()), weight="1", note="the homologue's solution"),
            Input(id=water.id, digest=digest(water.plain()), note="water, beyond where the homologue is measured"),
            *(Input(id=row, digest=digest(r.plain()), note="the pure liquid") for row, r in pure),
        ],
        left_out=left_out_of(own.left_out) or None,
        working={
            "reason": choice.reason,
            "joining": told(cost, 2, "m/s"),
            "beyond": f"{choice.beyond.number} % at most for {choice.beyond.text}",
        },
    )


def _water_row(row: str, published: Mapping[str, RecommendedValue]) -> RecommendedValue | None:
    """The row of water for the property of another row."""
    return published.get(f"water.{row.rsplit('.', 1)[1]}")


def _guarded_later(choice: SolutionGrid) -> bool:
    """Sorts what tells where a solution freezes or boils before the rows that it guards."""
    return choice.row.rsplit(".", 1)[1] not in BOUNDING


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
