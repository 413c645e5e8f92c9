"""A job from end to end, and each of its steps alone."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from refdb.database import Database
from refdb.job.acoustics.arrivals import spacing_document, waves_document
from refdb.job.acoustics.choice import ray
from refdb.job.acoustics.fitted import fit_document
from refdb.job.acoustics.ray import Ray
from refdb.job.flow.heat import heat_document
from refdb.job.flow.metering import area, budget_document, flow_document
from refdb.job.inputs.given import own_unit
from refdb.job.inputs.held import Inputs, bore_uncertainty, nominal_bore
from refdb.job.inputs.read import read_inputs
from refdb.job.mounted import compare_document, mounted_document
from refdb.job.quantities import difference, positive
from refdb.job.shown_units import ShownUnits
from refdb.job.suitability import CAUTIONS, suitability
from refdb.job.verdict import verdict
from refdb.job.words import understood
from refdb.problems import BadParameter, Problem, UnknownName
from refdb.units import parse_quantity, significant
from refdb.values.finite import require_finite

if TYPE_CHECKING:
    from refdb.job.models import Job

STEPS = ("pipe", "waves", "spacing", "flow", "uncertainty", "suitability", "heat", "mounted")
MOST_DRAWS = 1_000_000
THIN_PIPE, THICK_PIPE = 0.003, 0.25
"""Wall over outside diameter: beyond these a wall is called implausible (judgement)."""


def work_job(content: Mapping[str, Any], database: Database, draws: int = 0) -> dict[str, Any]:
    """A whole job worked; the document that the command line prints and the service returns.

    Args:
        content: the job, after `shared/schemas/job-v1.schema.json`.
        draws: of a Monte Carlo beside the linear budget; none by default.

    Raises:
        Problem: an input is wrong, or no wave reaches the liquid. Steps that cannot be worked are told under `refused`.
    """
    inputs, path = _begun(content, database, draws)
    told: dict[str, Any] = {}
    refused: list[dict[str, Any]] = []
    for step in STEPS:
        # The budget is that of a flow: a job that tells none is one of spacing alone.
        if getattr(inputs.job, "flow" if step == "uncertainty" else step, "asked") is None:
            told[step] = None
            continue
        try:
            told[step] = _worked(step, inputs, path, draws)
        except Problem as problem:
            told[step] = None
            refused.append({"step": step, "problem": problem.document()})
    return _document(inputs, told, refused, whole=True)


def work_step(step: str, content: Mapping[str, Any], database: Database, draws: int = 0) -> dict[str, Any]:
    """One step of a job.

    Raises:
        UnknownName: there is no such step.
        Problem: an input is wrong, or the step cannot be worked.
    """
    if step not in STEPS:
        raise UnknownName(
            f"step: there is no step '{step}'; there are {', '.join(STEPS)}.",
            parameter="step",
            given=step,
            candidates=list(STEPS),
        )
    inputs, path = _begun(content, database, draws)
    return _document(inputs, {step: _worked(step, inputs, path, draws)}, [])


def _worked(step: str, inputs: Inputs, path: Ray, draws: int) -> Any:
    """What a step gives.

    Raises:
        Problem: it cannot be worked, or a number of it is not finite.
    """
    told = _WORK[step](inputs, path, draws)
    require_finite(told, step)
    return told


def begin(content: Mapping[str, Any], database: Database) -> tuple[Inputs, Ray]:
    """The numbers of a job and the path of the sound: what every step starts from.

    Raises:
        Problem: an input is wrong, or no wave reaches the liquid.
    """
    # The answer path has no need of pydantic; a job has.
    from refdb.job.models import Job
    from refdb.job.reading import read_model

    known, notes = understood(content)
    inputs = read_inputs(read_model(Job, known), database, notes)
    return inputs, ray(inputs)


def _begun(content: Mapping[str, Any], database: Database, draws: int) -> tuple[Inputs, Ray]:
    if not 0 <= draws <= MOST_DRAWS:
        raise BadParameter(f"draws: must be 0 to {MOST_DRAWS}; {draws} is not.", parameter="draws", given=draws)
    return begin(content, database)


def fit(content: Mapping[str, Any]) -> dict[str, Any]:
    """Sensors whose data nobody has, from spacings that are known.

    Raises:
        BadParameter: the spacings do not fix the sensors.
    """
    told = _rounded(fit_document(content))
    require_finite(told)
    return told


def compare(content: Mapping[str, Any]) -> dict[str, Any]:
    """Two meters in one line."""
    from refdb.job.models import CompareQuestion
    from refdb.job.reading import read_model

    asked = read_model(CompareQuestion, content)
    texts = (asked.first, asked.first_expanded_uncertainty, asked.second, asked.second_expanded_uncertainty)
    return _rounded(compare_document(*texts))


def _pipe(inputs: Inputs, _path: Ray, _draws: int) -> dict[str, Any]:
    bore, outside = nominal_bore(inputs), inputs.value("outside diameter")
    ratio = inputs.value("wall") / outside
    plausible = THIN_PIPE <= ratio <= THICK_PIPE
    return {
        "outside_diameter": {"magnitude": 1000.0 * outside, "unit": "mm"},
        "wall": {"magnitude": 1000.0 * inputs.value("wall"), "unit": "mm"},
        "bore": {"magnitude": 1000.0 * bore, "unit": "mm"},
        "bore_uncertainty": {"magnitude": 1000.0 * bore_uncertainty(inputs), "unit": "mm"},
        "area": {"magnitude": area(bore), "unit": "m2"},
        "area_uncertainty": {"magnitude": math.pi / 2.0 * bore * bore_uncertainty(inputs), "unit": "m2"},
        "growth": {"magnitude": 100.0 * (inputs.growth - 1.0), "unit": "%"},
        "candidates": inputs.candidates,
        "warnings": []
        if plausible
        else [f"The wall is {100 * ratio:.1f} % of the diameter, which is implausible: look for a wrong echo or unit."],
    }


Work = Callable[[Inputs, Ray, int], Any]
_WORK: dict[str, Work] = {
    "pipe": _pipe,
    "waves": lambda inputs, path, _: waves_document(inputs, path),
    "spacing": lambda inputs, path, _: spacing_document(inputs, path),
    "flow": lambda inputs, path, _: flow_document(inputs, path),
    "uncertainty": budget_document,
    "suitability": lambda inputs, path, _: suitability(inputs, path),
    "heat": lambda inputs, path, _: heat_document(inputs, path),
    "mounted": lambda inputs, path, _: mounted_document(inputs, path),
}

_SHOWN = {
    "length": "mm",
    "temperature": "degC",
    "time": "us",
    "angle": "deg",
    "frequency": "MHz",
    "pressure": "kPa",
    "dynamic_viscosity": "mPa.s",
    "zero": "ns",
}
"""Units in which inputs are told, by dimension or, before that, by name; else the SI unit."""


def _document(
    inputs: Inputs, told: Mapping[str, Any], refused: list[dict[str, Any]], *, whole: bool = False
) -> dict[str, Any]:
    job: Job = inputs.job
    own = [own_unit(job, item) for item in inputs.found.values()]
    kept = [symbol is not None for symbol in own]
    document = _rounded(
        {
            "title": job.title,
            "setting": job.setting,
            "purpose": job.purpose,
            "units": job.units,
            "arrangement": _arrangement(job),
            "release": inputs.release.label,
            "release_digest": inputs.release.digest,
            "rows": dict(sorted(inputs.rows.items())),
            "inputs": [
                item.document(symbol or _SHOWN.get(item.name, _SHOWN.get(item.dimension)))
                for item, symbol in zip(inputs.found.values(), own, strict=True)
            ],
            **told,
            "refused": refused,
            "assumptions": list(dict.fromkeys(inputs.assumptions)),
            "warnings": list(dict.fromkeys(inputs.warnings)),
            "cautions": list(CAUTIONS),
        }
    )
    if whole:
        # First of all that a reader of the document meets, as on the sheet.
        document = {"title": document["title"], "verdict": verdict(document, _wanted(job)), **document}
    # Rounded first: what is printed in one system of units and in the other is then the same number.
    shown: dict[str, Any] = ShownUnits(job.units, _flow_unit(job)).shown({**document, "inputs": []})
    shown["inputs"] = [
        one if given else ShownUnits(job.units, _flow_unit(job)).shown(one)
        for one, given in zip(document["inputs"], kept, strict=True)
    ]
    return {name: shown[name] for name in document}


def _flow_unit(job: Job) -> str:
    """The unit in which the user tells the flow."""
    if job.flow is not None:
        return parse_quantity(job.flow.normal, "volume_flow", "flow.normal").unit.symbol
    return "US gal/min" if job.units == "us" else "m3/h"


def _wanted(job: Job) -> dict[str, Any] | None:
    """The expanded uncertainty that will do, in % of the flow."""
    if job.flow is None or job.flow.accuracy is None:
        return None
    part = difference(job.flow.accuracy, "dimensionless", "flow.accuracy")
    return {"magnitude": significant(100.0 * part), "unit": "%"}


def _arrangement(job: Job) -> dict[str, Any]:
    """How the sensors stand on the pipe, for whoever draws it."""
    length = job.sensors.housing_length
    size = 1000.0 * positive(length, "length", "sensors.housing_length") if length is not None else None
    return {
        "passes": job.sensors.passes,
        "sides": "same" if job.sensors.passes % 2 == 0 else "opposite",
        "housing_length": {"magnitude": size, "unit": "mm"} if size is not None else None,
        "orientation": job.access.orientation,
        "seam": job.pipe.seam,
    }


def _rounded(document: dict[str, Any]) -> dict[str, Any]:
    """The document with its numbers to the significant digits of every answer: last bits differ between machines."""
    return {key: _rounded_part(item) for key, item in document.items()}


def _rounded_part(part: Any) -> Any:
    if isinstance(part, dict):
        return _rounded(part)
    if isinstance(part, list | tuple):
        return [_rounded_part(item) for item in part]
    return significant(part) if isinstance(part, float) else part
