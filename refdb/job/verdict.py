"""Whether a job is fit for its purpose: the first thing a sheet says, before any figure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Literal

from refdb.job.figures import plain
from refdb.job.warnings import warnings_of

Fitness = Literal["fit", "fit with conditions", "unfit for this purpose"]
UNFIT: Fitness = "unfit for this purpose"
CONDITIONAL: Fitness = "fit with conditions"
FIT: Fitness = "fit"

ALWAYS_SO = frozenset({"where around", "seam", "couplant"})
"""Remarks that say what to do at any pipe: they are no conditions unless the place itself is wrong."""
MAY_STAY_UNKNOWN = frozenset({*ALWAYS_SO, "pulsation", "access", "straight length downstream", "planes"})
"""What may stay open without making the result doubtful (judgement)."""
NEEDED = ("waves", "spacing", "flow", "uncertainty")
"""Steps without which there is no measurement, where they were asked for."""


def verdict(document: Mapping[str, Any], wanted: Mapping[str, Any] | None) -> dict[str, Any]:
    """The verdict on a whole job, with its reasons, the worst first.

    Args:
        document: every step worked, or refused.
        wanted: the expanded uncertainty that will do, in % of the flow; None where none is told.
    """
    against, conditions = list(_against(document)), list(_conditions(document))
    budget = document["uncertainty"]
    reached = budget["relative_expanded_uncertainty"] if budget is not None else None
    met = None
    if wanted is not None and reached is not None:
        met = reached["magnitude"] <= wanted["magnitude"]
        if not met:
            against.append(f"{plain(wanted, 3)} is wanted of the flow, and {plain(reached, 3)} is reached (k = 2)")
    return {
        "fitness": UNFIT if against else CONDITIONAL if conditions else FIT,
        "because": list(dict.fromkeys([*against, *conditions])),
        "accuracy": {"wanted": wanted, "reached": reached, "met": met},
    }


def _against(document: Mapping[str, Any]) -> Iterator[str]:
    """What makes a job unfit."""
    for item in document["suitability"] or ():
        if item["verdict"] == "bad":
            yield f"{item['about']}: {item['text']}"
    for item in document["refused"]:
        if item["step"] in NEEDED:
            yield f"the step {item['step']} is refused: {item['problem']['detail']}"
    spacing = document["spacing"]
    if spacing is not None:
        lost = spacing["passes"][document["arrangement"]["passes"] - 1]["loss"]
        if lost is not None and lost["signal"] == "too weak":
            yield "the signal loses too much: no usable one is expected"


def _conditions(document: Mapping[str, Any]) -> Iterator[str]:
    """What must be settled, or kept in mind, before the result is relied on."""
    for item in document["inputs"]:
        if item["bound"] is not None:
            yield f"{item['name']} is not known, and worked with between bounds: {item['bound']['why']}"
        elif item["rung"] in {"analogue", "family", "memory"}:
            yield f"{item['name']} is an estimate ({item['rung']}), published by nobody for this material"
    for item in document["suitability"] or ():
        about = item["about"]
        if item["verdict"] == "mind" and about not in ALWAYS_SO:
            yield f"{about}: {item['text']}"
        if item["verdict"] == "unknown" and about not in MAY_STAY_UNKNOWN:
            yield f"{about} is not told: {item['text']}"
    for item in document["refused"]:
        if item["step"] not in NEEDED:
            yield f"the step {item['step']} is refused: {item['problem']['detail']}"
    yield from warnings_of(document)
