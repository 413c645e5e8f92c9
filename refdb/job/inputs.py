"""The inputs of a job as numbers: given, from a row of the database, or a stated default.

Every number keeps where it came from, with row and digest, so that a figure on the sheet can be walked back.
"""

from __future__ import annotations

import math
from collections.abc import Container
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Literal

from refdb.database import Database
from refdb.job.contradictions import check_document, check_temperatures
from refdb.job.quantities import difference, not_negative, number, positive, steady, steady_length
from refdb.job.uncertainty import Distribution, Variable
from refdb.lookup import ReleaseInfo
from refdb.lookup.state import STANDARD_ATMOSPHERE, State, read_state
from refdb.pipes.question import PipeQuestion
from refdb.problems import BadParameter, MissingState, NotAvailable, OutsideRange, Problem, UnknownName
from refdb.units import Quantity, parse_quantity, units
from refdb.units.sizes import NO_SOURCE
from refdb.values.options import Options
from refdb.values.value import Answer

if TYPE_CHECKING:
    from refdb.job.models import Job, Lining
    from refdb.job.waves import Mode
    from refdb.pipes.pipe import PipeAnswer

Origin = Literal["given", "row", "default"]

REFERENCE_CELSIUS = 20.0
CELSIUS_PLACES = 11

DEFAULTS: dict[str, tuple[str, str, str]] = {
    "sensors.angle": ("angle", "0.1 deg", "making of a wedge"),
    "sensors.offset": ("length", "0.5 mm", "wear and marks of the housings"),
    "sensors.delay": ("time", "100 ns", "cables and couplant"),
    "sensors.spacing": ("length", "0.5 mm", "setting a rail or a tape"),
    "sensors.time": ("time", "20 ns", "finding the arrival"),
    "sensors.zero_stability": ("time", "0.1 ns", "zero of a pair"),
    "liquid.temperature": ("temperature_difference", "1 delta_K", "a thermometer on or in the line"),
    "sensors.temperature": ("temperature_difference", "3 delta_K", "a wedge between wall and air"),
}
"""Standard uncertainties where none is given: dimension, amount and what it stands for; common practice, no source."""
RELATIVE_DEFAULTS = {
    "sensors.speed": 0.005,
    "pipe.speed": 0.01,
    "lining.speed": 0.05,
    "lining.thickness": 0.2,
    "deposits": 0.5,
    "liquid.sound_speed": 0.005,
    "liquid.density": 0.005,
    "liquid.dynamic_viscosity": 0.05,
    "liquid.specific_heat": 0.01,
    "liquid.saturation_pressure": 0.05,
    "liquid.absorption": 0.3,
    "coating": 0.2,
    "coating.speed": 0.1,
    "deposits.speed": 0.1,
    "sensors.calibration": 0.005,
}
"""The same as parts of the value, for values that are given without one; common practice, no source."""
ROUGHNESS_SPREAD = 0.5
STRAIGHT = ((50.0, 0.003), (20.0, 0.01), (10.0, 0.02), (5.0, 0.04), (0.0, 0.08))
"""Straight diameters upstream, and what the profile may then be off by (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Input:
    """One number in SI units with its standard uncertainty and its origin."""

    name: str
    value: float
    uncertainty: float
    dimension: str
    origin: Origin
    words: str = ""
    answer: Answer | None = None
    distribution: Distribution = "normal"

    @property
    def variable(self) -> Variable:
        """The number as the propagation of uncertainty takes it."""
        return Variable(self.value, self.uncertainty, self.distribution)

    def document(self, symbol: str | None = None) -> dict[str, Any]:
        """The input as plain JSON values, in SI units or another of its dimension."""
        si = units().si(self.dimension)
        unit = units().find(symbol, self.dimension) if symbol else si
        told: dict[str, Any] = {
            "name": self.name,
            "value": Quantity(si.to(self.value, unit), unit).document(),
            "standard_uncertainty": {
                "magnitude": float(f"{si.difference_to(self.uncertainty, unit):.6g}"),
                "unit": _difference_symbol(unit.symbol),
            },
            "origin": self.origin,
            "text": self.words,
            "row": None,
            "sources": [],
        }
        if self.answer is not None:
            told["row"] = {"id": self.answer.row, "digest": self.answer.digest}
            told["sources"] = self.answer.sources
        return told


@dataclass
class Inputs:
    """All inputs of one job, and what was taken for granted."""

    job: Job
    database: Database
    release: ReleaseInfo
    options: Options
    found: dict[str, Input] = field(default_factory=dict)
    assumptions: list[str] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    rows: dict[str, str] = field(default_factory=dict)
    candidates: dict[str, Any] | None = None
    growth: float = 1.0

    def __getitem__(self, name: str) -> Input:
        return self.found[name]

    def value(self, name: str) -> float:
        """One number, in SI units."""
        return self.found[name].value

    def keep(self, item: Input) -> Input:
        """Remember an input under its name."""
        self.found[item.name] = item
        if item.answer is not None:
            self.rows[item.answer.row] = item.answer.digest
            self.assumptions += [text for text in item.answer.assumptions if text not in self.assumptions]
            self.warnings += [text for text in item.answer.warnings if text not in self.warnings]
        return item


def read_inputs(job: Job, database: Database) -> Inputs:
    """The numbers of a job.

    Raises:
        Problem: an input is wrong, contradicts another, or is neither given nor in the release.
    """
    check_document(job)
    release = database.release(job.release)
    inputs = Inputs(job, database, release, Options(estimates=job.accept == "estimates"))
    _temperatures(inputs)
    check_temperatures(inputs)
    _liquid(inputs)
    _pipe(inputs)
    _sensors(inputs)
    return inputs


def _difference_symbol(symbol: str) -> str:
    return {"degC": "K", "degF": "delta_degF"}.get(symbol, symbol)


def _doubt(inputs: Inputs, key: str, text: str | None, dimension: str, value: float) -> float:
    """A given uncertainty, or the stated default."""
    if text is not None:
        return difference(text, dimension, f"{key}_uncertainty")
    if key in DEFAULTS:
        of, amount, words = DEFAULTS[key]
        inputs.assumptions.append(f"{key}: standard uncertainty {amount}, {words} ({NO_SOURCE})")
        return difference(amount, of, key)
    part = RELATIVE_DEFAULTS[key]
    inputs.assumptions.append(f"{key}: standard uncertainty {100 * part:g} % of the value ({NO_SOURCE})")
    return part * abs(value)


def _temperatures(inputs: Inputs) -> None:
    job = inputs.job
    liquid = number(job.liquid.temperature, "temperature", "liquid.temperature")
    doubt = _doubt(inputs, "liquid.temperature", job.liquid.temperature_uncertainty, "temperature", liquid)
    inputs.keep(Input("liquid temperature", liquid, doubt, "temperature", "given"))
    wall, origin = liquid, "default"
    if job.pipe.wall_temperature is not None:
        wall, origin = number(job.pipe.wall_temperature, "temperature", "pipe.wall_temperature"), "given"
    else:
        inputs.assumptions.append("pipe.wall_temperature not given: that of the liquid")
    inputs.keep(Input("wall temperature", wall, doubt, "temperature", _origin(origin)))
    wedge, origin = wall, "default"
    if job.sensors.temperature is not None:
        wedge, origin = number(job.sensors.temperature, "temperature", "sensors.temperature"), "given"
    else:
        inputs.assumptions.append("sensors.temperature not given: that of the wall")
    wedge_doubt = _doubt(inputs, "sensors.temperature", job.sensors.temperature_uncertainty, "temperature", wedge)
    inputs.keep(Input("wedge temperature", wedge, wedge_doubt, "temperature", _origin(origin)))


def _origin(text: str) -> Origin:
    return "given" if text == "given" else "default"


def _steady(state: State) -> State:
    """The state without the last bits of converting its temperature and pressure."""
    if state.pascals is not None:
        state = replace(state, pascals=steady(state.pascals))
    # Degrees Celsius are a difference of kelvins, whose last bits weigh the more the nearer they are to zero.
    return replace(state, celsius=round(state.celsius, CELSIUS_PLACES))


_LIQUID = {
    "sound_speed": "speed",
    "density": "density",
    "dynamic_viscosity": "dynamic_viscosity",
}


def liquid_state(inputs: Inputs, temperature: str) -> State:
    """The state of the job's liquid at a temperature; gauge pressures count from the told atmosphere."""
    job = inputs.job.liquid
    state = _steady(read_state(temperature, job.pressure, job.salinity, job.strength))
    if job.atmosphere is None or job.pressure is None or state.pascals is None:
        return state
    if not parse_quantity(job.pressure, "pressure", "liquid.pressure").unit.offset:
        raise BadParameter(
            "liquid.atmosphere: is of use with a gauge pressure only, and liquid.pressure is absolute; leave it out.",
            parameter="liquid.atmosphere",
        )
    air = positive(job.atmosphere, "pressure", "liquid.atmosphere")
    return replace(state, pascals=state.pascals - STANDARD_ATMOSPHERE + air, assumptions=())


def _liquid(inputs: Inputs) -> None:
    job = inputs.job.liquid
    state = liquid_state(inputs, job.temperature)
    for name, dimension in _LIQUID.items():
        _liquid_property(inputs, name, dimension, state)
    for name, dimension in (("specific_heat", "specific_heat"), ("saturation_pressure", "pressure")):
        try:
            _liquid_property(inputs, name, dimension, state)
        except (NotAvailable, MissingState, OutsideRange):
            inputs.assumptions.append(f"liquid.{name}: not given and not in the release; what needs it is left out")
    inputs.keep(Input("pressure", state.pascals or 101325.0, 0.0, "pressure", "given" if job.pressure else "default"))
    inputs.assumptions += [text for text in state.assumptions if text not in inputs.assumptions]
    if job.absorption is not None:
        absorption = positive(job.absorption, "absorption", "liquid.absorption")
        doubt = _doubt(inputs, "liquid.absorption", job.absorption_uncertainty, "absorption", absorption)
        inputs.keep(Input("absorption", absorption, doubt, "absorption", "given"))
    elif job.substance is not None and job.dynamic_viscosity is None:
        # What is as viscous as the engineer says is not the liquid that the release knows.
        _absorption_of_row(inputs, job.substance, state)


ABSORPTION = "absorption over frequency squared"
"""The label of the input that a row of the release gives where no absorption is given."""


def _absorption_of_row(inputs: Inputs, substance: str, state: State) -> None:
    """What the release says of the absorption: published, or a lower bound that the row's warning tells as one."""
    name = ABSORPTION.replace(" ", "_")
    try:
        found = inputs.database.values(
            substance, [name], state=state, options=inputs.options, release=inputs.release, kind="liquid"
        )
    except (NotAvailable, MissingState, OutsideRange):
        return
    inputs.keep(_from_row(ABSORPTION, found.values[0], "absorption_per_frequency_squared"))


def _liquid_property(inputs: Inputs, name: str, dimension: str, state: State) -> None:
    job = inputs.job.liquid
    given = getattr(job, name)
    label = name.replace("_", " ")
    if given is not None:
        value = positive(given, dimension, f"liquid.{name}")
        text = getattr(job, f"{name}_uncertainty", None)
        known = f"liquid.{name}" in RELATIVE_DEFAULTS
        doubt = _doubt(inputs, f"liquid.{name}", text, dimension, value) if known else 0.0
        inputs.keep(Input(label, value, doubt, dimension, "given"))
        return
    if job.substance is None:
        raise MissingState(
            f"liquid.{name}: is not given, and no substance of the database is named; give one of the two.",
            parameter=f"liquid.{name}",
        )
    found = inputs.database.values(
        job.substance, [name], state=state, options=inputs.options, release=inputs.release, kind="liquid"
    )
    inputs.keep(_from_row(label, found.values[0], dimension))


def _from_row(label: str, answer: Answer, dimension: str) -> Input:
    si = units().si(dimension)
    value = float(answer.value.unit.to(answer.value.magnitude, si))
    doubt = float(answer.value.unit.difference_to(answer.standard_uncertainty.magnitude, si))
    return Input(label, value, doubt, dimension, "row", f"row {answer.row}", answer)


def slope(inputs: Inputs, label: str) -> float:
    """Change of a liquid's property per kelvin, in SI units; 0 where the value was given by hand."""
    answer = inputs[label].answer
    if answer is None:
        return 0.0
    si = units().si(inputs[label].dimension)
    return float(answer.value.unit.difference_to(answer.slopes.get("temperature", 0.0), si))


def solid(inputs: Inputs, material: str | None, property_id: str, given: str | None, field_name: str) -> Answer | float:
    """A material's property: given, or from its row at the wall's temperature.

    Raises:
        Problem: it is neither, or the row does not reach the temperature; the sentence says which member to give.
    """
    dimension = "speed" if property_id.endswith("speed") else "density"
    if given is not None:
        return positive(given, dimension, field_name)
    if material is None:
        raise MissingState(f"{field_name}: is not given, and no material is named.", parameter=field_name)
    celsius = inputs.value("wall temperature") - 273.15
    try:
        found = inputs.database.values(
            material,
            [property_id],
            state=read_state(f"{celsius:.12g} degC"),
            options=inputs.options,
            release=inputs.release,
            kind="material",
        )
    except OutsideRange as problem:
        raise OutsideRange(
            f"{field_name}: {problem.detail} Give {field_name} with its uncertainty.", **problem.extensions
        ) from None
    return found.values[0]


def wave_speed(
    inputs: Inputs, label: str, material: str | None, mode: Mode, given: tuple[str | None, str | None], where: str
) -> Input:
    """The speed of one wave in a layer, remembered under a label."""
    found = solid(inputs, material, f"{mode}_speed", given[0], f"{where}.{mode}_speed")
    if isinstance(found, float | int):
        doubt = _doubt(inputs, f"{where.rpartition('.')[2]}.speed", given[1], "speed", found)
        return inputs.keep(Input(label, found, doubt, "speed", "given"))
    return inputs.keep(_from_row(label, found, "speed"))


def _pipe(inputs: Inputs) -> None:
    pipe = inputs.job.pipe
    measured = pipe.circumference is not None or pipe.outside_diameter is not None
    if measured:
        _measured_pipe(inputs)
    elif pipe.size is None:
        raise MissingState(
            "pipe: give a circumference or an outside_diameter, or a size of a system.", parameter="pipe.circumference"
        )
    if pipe.size is not None:
        _nominal_pipe(inputs, measured=measured)
    if "wall" not in inputs.found:
        raise MissingState(
            "pipe.wall: is neither measured nor given by a designation; measure it.", parameter="pipe.wall"
        )
    if pipe.lining is not None:
        _lining(inputs, pipe.lining)
    _narrowing(inputs)
    _roughness(inputs)


_LENGTHS = (
    "circumference",
    "outside_diameter",
    "circumference_uncertainty",
    "outside_diameter_uncertainty",
    "wall",
    "wall_uncertainty",
    "tape_thickness",
    "coating",
)
_AS_MEASURED = (*_LENGTHS, "wall_points", "gauge_speed", "gauge_reads_coating", "system")


def _measured_pipe(inputs: Inputs) -> None:
    pipe = inputs.job.pipe
    told = {name: getattr(pipe, name) for name in _AS_MEASURED}
    told |= {name: steady_length(told[name], f"pipe.{name}") for name in _LENGTHS if told[name] is not None}
    if pipe.circumference is not None and pipe.outside_diameter is not None:
        # The two agree, or the document had been refused; a tape averages over an oval pipe.
        told |= {"outside_diameter": None, "outside_diameter_uncertainty": None}
        inputs.assumptions.append("pipe.circumference and pipe.outside_diameter agree: the circumference is worked on")
    if pipe.wall is not None:
        told["temperature"] = f"{inputs.value('wall temperature') - 273.15:.12g} degC"
    if pipe.gauge_speed is not None:
        told["material_speed"] = pipe.longitudinal_speed
    try:
        match = inputs.database.match_pipe(
            PipeQuestion(**told, material=pipe.material), options=inputs.options, release=inputs.release, limit=5
        )
    except Problem as problem:
        raise _of_pipe(problem, type(pipe).model_fields) from None
    for name, found in (("outside diameter", match.measured.outside_diameter), ("wall", match.measured.wall)):
        if found is not None:
            inputs.keep(Input(name, found.value / 1000.0, found.uncertainty / 1000.0, "length", "given", "as measured"))
    inputs.assumptions += [f"pipe: {text}" for text in match.measured.assumptions]
    _warm(inputs)
    _oval(inputs)
    told = match.document()
    kept = ("probability", "outcome", "text")
    items = [{**{key: item[key] for key in kept}, "row": (item["pipe"] or {}).get("id")} for item in told["items"]]
    inputs.candidates = {"items": items, "advice": told["advice"], "prior": told["prior"]["name"]}


def _of_pipe(problem: Problem, fields: Container[str]) -> Problem:
    """The same problem, its field named as the job names it."""
    name, _, text = problem.detail.partition(":")
    own = {"material_speed": "longitudinal_speed", "temperature": "wall_temperature"}.get(name, name)
    if own not in fields:
        return problem
    return type(problem)(f"pipe.{own}:{text}", **{**problem.extensions, "parameter": f"pipe.{own}"})


def _warm(inputs: Inputs) -> None:
    """A pipe that was measured at another temperature than it runs at grows with its material."""
    text = inputs.job.pipe.measured_at
    if text is None:
        return
    growth = _expansion(inputs, number(text, "temperature", "pipe.measured_at"))
    for name in ("outside diameter", "wall"):
        if name in inputs.found:
            item = inputs[name]
            inputs.keep(replace(item, value=growth * item.value, uncertainty=growth * item.uncertainty))


def _oval(inputs: Inputs) -> None:
    """Calipers across an oval pipe may have met any of its diameters; a tape around it averages them."""
    pipe = inputs.job.pipe
    if pipe.ovality is None:
        return
    part = not_negative(number(pipe.ovality, "dimensionless", "pipe.ovality"), "pipe.ovality")
    if pipe.circumference is not None or pipe.outside_diameter_uncertainty is not None:
        inputs.assumptions.append("pipe.ovality: averaged by the tape, or inside the uncertainty that was given")
        return
    item = inputs["outside diameter"]
    # Diameters of an ellipse: D (1 + e/2 cos 2a), any angle a as likely as another: standard deviation e D / sqrt(8).
    doubt = math.hypot(item.uncertainty, part * item.value / math.sqrt(8.0))
    inputs.keep(replace(item, uncertainty=doubt))
    inputs.assumptions.append("pipe.ovality: the calipers may have met any diameter of the oval")


def _nominal_pipe(inputs: Inputs, *, measured: bool) -> None:
    pipe = inputs.job.pipe
    if pipe.system is None:
        raise MissingState("pipe.system: a size needs its system; name it.", parameter="pipe.system")
    found = inputs.database.pipes(pipe.system, pipe.size, pipe.designation, inputs.options, inputs.release)
    from refdb.pipes.pipe import one_pipe

    row = one_pipe(found, f"{pipe.system} {pipe.size}")
    inputs.rows[row.id] = row.record.digest
    outside = _metres(row.outside_diameter)
    if measured:
        _contradiction(inputs, row.id, outside)
    else:
        growth = _expansion(inputs)
        inputs.keep(Input("outside diameter", outside * growth, 0.003 * outside, "length", "row", f"row {row.id}"))
        inputs.assumptions.append(f"pipe: diameter of row {row.id}, standard uncertainty 0.3 % ({NO_SOURCE})")
    if "wall" in inputs.found and pipe.designation is not None:
        _wall_contradiction(inputs, row)
    if "wall" not in inputs.found and row.printed_wall is not None:
        wall = _metres(row.wall) * (1.0 if measured else inputs.growth)
        # Limits of walls are one-sided or 12.5 % in most standards; a rectangle of that width is the stated default.
        doubt = 0.125 / math.sqrt(3.0) * wall
        inputs.keep(Input("wall", wall, doubt, "length", "row", f"row {row.id}", distribution="rectangular"))
        inputs.assumptions.append(f"pipe: wall of row {row.id}, within 12.5 % either way ({NO_SOURCE})")


def _metres(quantity: Quantity) -> float:
    return float(quantity.unit.to(quantity.magnitude, units().si("length")))


def _contradiction(inputs: Inputs, row: str, nominal: float) -> None:
    held = inputs["outside diameter"]
    apart = abs(held.value - nominal)
    if apart > max(4.0 * held.uncertainty, 0.015 * nominal):
        raise BadParameter(
            f"pipe.size: contradicts the measured diameter: row {row} has {1000 * nominal:.2f} mm, measured were "
            f"{1000 * held.value:.2f} mm; leave one of the two out or measure again.",
            parameter="pipe.size",
        )


def _wall_contradiction(inputs: Inputs, row: PipeAnswer) -> None:
    """A wall far from its designation: refused where it is thicker, told where it is thinner, which age may explain."""
    held = inputs["wall"]
    nominal = _metres(row.wall)
    apart = held.value - nominal
    if abs(apart) <= max(3.0 * held.uncertainty, 0.2 * nominal):
        return
    told = f"row {row.id} has {1000 * nominal:.2f} mm, measured were {1000 * held.value:.2f} mm"
    if apart > 0.0:
        raise BadParameter(
            f"pipe.designation: contradicts the measured wall: {told}; leave one of the two out or measure again.",
            parameter="pipe.designation",
        )
    inputs.warnings.append(f"pipe.wall: {told}: corroded, of another designation, or a gauge that was set wrong.")


def _expansion(inputs: Inputs, measured_at: float = 273.15 + REFERENCE_CELSIUS) -> float:
    """By what a length grows from the temperature in kelvin at which it was measured to that of the wall."""
    given = inputs.job.pipe.thermal_expansion
    rise = inputs.value("wall temperature") - measured_at
    if given is None:
        if abs(rise) > 1.0:
            inputs.assumptions.append(
                f"pipe.thermal_expansion not given: dimensions are taken as at {measured_at - 273.15:.0f} degC"
            )
        return 1.0
    inputs.growth = 1.0 + number(given, "per_temperature", "pipe.thermal_expansion") * rise
    return inputs.growth


def _lining(inputs: Inputs, lining: Lining) -> None:
    thickness = positive(lining.thickness, "length", "pipe.lining.thickness")
    doubt = _doubt(inputs, "lining.thickness", lining.thickness_uncertainty, "length", thickness)
    inputs.keep(Input("lining thickness", thickness, doubt, "length", "given"))


def _narrowing(inputs: Inputs) -> None:
    text = inputs.job.pipe.deposits
    value = number(text, "length", "pipe.deposits") if text is not None else 0.0
    doubt = _doubt(inputs, "deposits", inputs.job.pipe.deposits_uncertainty, "length", value) if text else 0.0
    inputs.keep(Input("deposits", value, doubt, "length", "given" if text else "default"))
    _check_bore(inputs)
    if text is not None:
        _layer_speed(inputs, "deposits", inputs.job.pipe.deposits_speed, inputs.value("sound speed"))
    coating = inputs.job.pipe.coating
    if coating is None:
        return
    if inputs.job.pipe.coating_speed is None:
        inputs.assumptions.append("pipe.coating_speed not given: the coating is taken off where the sensors stand")
        return
    thickness = positive(coating, "length", "pipe.coating")
    doubt = _doubt(inputs, "coating", None, "length", thickness)
    inputs.keep(Input("coating", thickness, doubt, "length", "given"))
    _layer_speed(inputs, "coating", inputs.job.pipe.coating_speed, 0.0)


def _layer_speed(inputs: Inputs, layer: str, given: str | None, otherwise: float) -> None:
    """The speed in a coating or in deposits; that of the liquid for deposits of which nothing is known."""
    where, label = f"pipe.{layer}_speed", f"{layer} speed"
    if given is None:
        inputs.assumptions.append(f"{where} not given: that of the liquid, as in soft deposits ({NO_SOURCE})")
    value = positive(given, "speed", where) if given is not None else otherwise
    doubt = _doubt(inputs, f"{layer}.speed", None, "speed", value)
    inputs.keep(Input(label, value, doubt, "speed", "given" if given is not None else "default"))


def _check_bore(inputs: Inputs) -> None:
    """Raises BadParameter, naming the layer that leaves no bore."""
    outside, wall = inputs.value("outside diameter"), inputs.value("wall")
    inside = outside - 2.0 * wall
    lining = inputs.value("lining thickness") if "lining thickness" in inputs.found else 0.0
    for name, thickness, room, what in (
        ("pipe.wall", wall, outside, "outside diameter"),
        ("pipe.lining.thickness", lining, inside, "bore of the bare pipe"),
        ("pipe.deposits", inputs.value("deposits"), inside - 2.0 * lining, "bore"),
    ):
        if 2.0 * thickness >= room:
            raise BadParameter(
                f"{name}: {1000 * thickness:.4g} mm on both sides leave no bore in {1000 * room:.4g} mm of {what}; "
                "check number and unit.",
                parameter=name,
            )


def nominal_bore(inputs: Inputs) -> float:
    """Inside everything, in metres."""
    layers = inputs.value("wall") + inputs.value("deposits")
    if "lining thickness" in inputs.found:
        layers += inputs.value("lining thickness")
    return inputs.value("outside diameter") - 2.0 * layers


def bore_uncertainty(inputs: Inputs) -> float:
    """Standard uncertainty of the bore, in metres: every layer stands twice in a diameter."""
    layers = [name for name in ("wall", "lining thickness", "deposits") if name in inputs.found]
    return math.hypot(inputs["outside diameter"].uncertainty, *(2.0 * inputs[name].uncertainty for name in layers))


def _roughness(inputs: Inputs) -> None:
    pipe = inputs.job.pipe
    if pipe.roughness is not None:
        value = number(pipe.roughness, "length", "pipe.roughness")
        inputs.keep(Input("roughness", value, ROUGHNESS_SPREAD * value, "length", "given"))
        return
    sought = pipe.surface or (pipe.lining.material if pipe.lining and pipe.lining.material else pipe.material)
    try:
        found = inputs.database.roughness(sought, release=inputs.release)
    except UnknownName:
        if pipe.surface is not None:
            raise
        inputs.keep(Input("roughness", 5e-5, 5e-5, "length", "default", NO_SOURCE))
        inputs.assumptions.append(f"pipe.roughness: not published for {sought}; 0.05 mm taken ({NO_SOURCE})")
        return
    if len(found) > 1:
        inputs.assumptions.append(f"pipe.surface not given: {found[0].id}, one of {len(found)} surfaces of {sought}")
    row = found[0]
    value = _metres(row.value)
    inputs.rows[row.id] = row.record.digest
    inputs.keep(Input("roughness", value, ROUGHNESS_SPREAD * value, "length", "row", f"row {row.id}"))


def _sensors(inputs: Inputs) -> None:
    sensors = inputs.job.sensors
    angle = positive(sensors.angle, "angle", "sensors.angle")
    if angle >= math.pi / 2:
        raise BadParameter(
            "sensors.angle: must be below 90 deg; it is counted from the normal.", parameter="sensors.angle"
        )
    doubt = _doubt(inputs, "sensors.angle", sensors.angle_uncertainty, "angle", angle)
    inputs.keep(Input("wedge angle", angle, doubt, "angle", "given"))
    _wedge_speed(inputs)
    for name, dimension in (("offset", "length"), ("delay", "time")):
        text = getattr(sensors, name)
        value = number(text, dimension, f"sensors.{name}") if text is not None else 0.0
        doubt = _doubt(inputs, f"sensors.{name}", getattr(sensors, f"{name}_uncertainty"), dimension, value)
        inputs.keep(Input(name, value, doubt, dimension, "given" if text is not None else "default"))
    set_doubt = _doubt(inputs, "sensors.spacing", sensors.spacing_uncertainty, "length", 0.0)
    inputs.keep(Input("spacing as set", 0.0, set_doubt, "length", "given", "deviation from what was entered"))
    time_doubt = _doubt(inputs, "sensors.time", sensors.time_uncertainty, "time", 0.0)
    inputs.keep(Input("transit time", 0.0, time_doubt, "time", "given", "error of the instrument"))
    zero = _doubt(inputs, "sensors.zero_stability", sensors.zero_stability, "time", 0.0)
    inputs.keep(Input("zero", 0.0, zero, "time", "given", "time difference at rest"))
    calibrated = sensors.calibration_uncertainty
    relative = _doubt(inputs, "sensors.calibration", calibrated, "dimensionless", 1.0)
    inputs.keep(Input("calibration", 1.0, relative, "dimensionless", "given"))
    inputs.keep(
        Input("frequency", positive(sensors.frequency, "frequency", "sensors.frequency"), 0.0, "frequency", "given")
    )
    inputs.keep(_installation(inputs))


def _wedge_speed(inputs: Inputs) -> None:
    sensors = inputs.job.sensors
    speed = positive(sensors.speed, "speed", "sensors.speed")
    doubt = _doubt(inputs, "sensors.speed", sensors.speed_uncertainty, "speed", speed)
    if sensors.speed_slope is not None:
        per_kelvin = number(sensors.speed_slope, "speed_per_temperature", "sensors.speed_slope")
        stated = sensors.speed_temperature or f"{REFERENCE_CELSIUS} degC"
        wedge = inputs["wedge temperature"]
        speed += per_kelvin * (wedge.value - number(stated, "temperature", "sensors.speed_temperature"))
        doubt = math.hypot(doubt, per_kelvin * wedge.uncertainty)
    else:
        inputs.assumptions.append(
            "sensors.speed_slope not given: the speed is taken as that at the wedge's temperature"
        )
    if speed <= 0.0:
        raise BadParameter(
            f"sensors.speed_slope: leaves the wedge {speed:.4g} m/s at its temperature; check the slope, sensors.speed "
            "and both temperatures.",
            parameter="sensors.speed_slope",
        )
    inputs.keep(Input("wedge speed", speed, doubt, "speed", "given", "at the wedge's temperature"))


def _installation(inputs: Inputs) -> Input:
    access = inputs.job.access
    if access.installation_uncertainty is not None:
        doubt = difference(access.installation_uncertainty, "dimensionless", "access.installation_uncertainty")
        return Input("installation", 1.0, doubt, "dimensionless", "given")
    if access.upstream is None:
        inputs.assumptions.append(f"access.upstream not told: profile within 4 % standard uncertainty ({NO_SOURCE})")
        return Input("installation", 1.0, 0.04, "dimensionless", "default")
    part = next(doubt for least, doubt in STRAIGHT if access.upstream >= least)
    inputs.assumptions.append(
        f"access: {access.upstream:g} straight diameters upstream, profile within {100 * part:g} % ({NO_SOURCE})"
    )
    return Input("installation", 1.0, part, "dimensionless", "default")
