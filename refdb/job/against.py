"""One job on two releases: which inputs a release changes, and which results move, by how many uncertainties."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from refdb.database import Database
from refdb.job.work import work_job
from refdb.problems import Problem


def against(content: Mapping[str, Any], database: Database, release: str) -> dict[str, Any]:
    """What would change if a job were worked on another release.

    Args:
        content: the job; it is worked on the release that it names, or the database's own.
        release: the label of the other release.

    Raises:
        Problem: an input is wrong, or the job cannot be worked on its own release; that another release cannot work it
            is told under `refused`.
    """
    other = database.release(release)
    before = work_job(content, database)
    told: dict[str, Any] = {
        "title": before["title"],
        "units": before["units"],
        "before": _named(before["release"], before["release_digest"]),
        "after": _named(other.label, other.digest),
        "rows": [],
        "inputs": [],
        "results": [],
        "refused": [],
    }
    try:
        after = work_job({**content, "release": other.label}, database)
    except Problem as problem:
        told["refused"] = [{"release": other.label, "step": None, "problem": problem.document()}]
        return told | {"text": f"release {other.label} cannot work this job"}
    told["rows"] = _rows(before["rows"], after["rows"])
    told["inputs"] = _inputs(before, after)
    told["results"] = _results(before, after)
    told["refused"] = [{"release": one["release"], **item} for one in (before, after) for item in one["refused"]]
    return told | {"text": _text(told)}


def _named(label: str, digest: str) -> dict[str, str]:
    return {"release": label, "release_digest": digest}


def _rows(before: Mapping[str, str], after: Mapping[str, str]) -> list[dict[str, Any]]:
    """The rows whose digests differ; None stands where a release does not use the row."""
    names = sorted({*before, *after})
    return [
        {"row": name, "before": before.get(name), "after": after.get(name)}
        for name in names
        if before.get(name) != after.get(name)
    ]


def _inputs(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The inputs whose value, uncertainty or row changed."""
    old, new = ({item["name"]: item for item in one["inputs"]} for one in (before, after))
    kept = ("value", "standard_uncertainty", "row", "origin")
    changed = []
    for name in dict.fromkeys([*old, *new]):
        pair = [{key: one[name][key] for key in kept} if name in one else None for one in (old, new)]
        if pair[0] != pair[1]:
            changed.append({"name": name, "before": pair[0], "after": pair[1], **_moved(*map(_measured, pair))})
    return changed


Measured = tuple[Mapping[str, Any], Mapping[str, Any] | None]
"""A quantity and its standard uncertainty, as a document tells them."""


def _measured(item: Mapping[str, Any] | None) -> Measured | None:
    return (item["value"], item["standard_uncertainty"]) if item is not None else None


def _moved(before: Measured | None, after: Measured | None) -> dict[str, float | None]:
    """By how much a number moved, in units of the uncertainty that it had; None where that cannot be told."""
    if before is None or after is None or before[1] is None or before[1]["magnitude"] == 0.0:
        return {"in_standard_uncertainties": None}
    apart = after[0]["magnitude"] - before[0]["magnitude"]
    return {"in_standard_uncertainties": float(f"{apart / before[1]['magnitude']:.6g}")}


def _results(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The results that move."""
    old, new = results(before), results(after)
    changed = []
    for name in dict.fromkeys([*old, *new]):
        pair = old.get(name), new.get(name)
        if pair[0] != pair[1]:
            told = [_result(one) for one in pair]
            changed.append({"name": name, "before": told[0], "after": told[1], **_moved(*pair)})
    return changed


def _result(measured: Measured | None) -> dict[str, Any] | None:
    if measured is None:
        return None
    return {"value": measured[0], "standard_uncertainty": measured[1]}


def results(document: Mapping[str, Any]) -> dict[str, Measured]:
    """The results of a job by name, each with its standard uncertainty where it has one.

    They are the spacing and the total time for each number of passes, the flow that one nanosecond of time difference
    stands for at the normal flow, its relative uncertainty, and the power.
    """
    found: dict[str, Measured] = {}
    timing = next(item["standard_uncertainty"] for item in document["inputs"] if item["name"] == "transit time")
    for item in document["spacing"]["passes"] if document["spacing"] else ():
        found[f"spacing, {item['passes']} passes"] = (item["spacing"], item["standard_uncertainty"])
        # A time is compared with what the instrument's finding of the arrival leaves open.
        found[f"total time, {item['passes']} passes"] = (item["total_time"], timing)
    budget = document["uncertainty"]
    if budget is not None:
        relative = budget["relative_expanded_uncertainty"]["magnitude"] / budget["coverage_factor"]
        found |= _flow_factor(document, relative / 100.0)
        found["relative expanded uncertainty of the flow"] = (budget["relative_expanded_uncertainty"], None)
    if document["heat"] is not None:
        found["power"] = (document["heat"]["power"], document["heat"]["standard_uncertainty"])
    return found


def _flow_factor(document: Mapping[str, Any], relative: float) -> dict[str, Measured]:
    for item in document["flow"]["points"] if document["flow"] else ():
        if item["name"] == "normal":
            factor = float(f"{item['volume_flow']['magnitude'] / item['time_difference']['magnitude']:.12g}")
            unit = f"{item['volume_flow']['unit']} per ns"
            uncertainty = {"magnitude": float(f"{relative * factor:.6g}"), "unit": unit}
            return {"flow factor": ({"magnitude": factor, "unit": unit}, uncertainty)}
    return {}


def _text(told: Mapping[str, Any]) -> str:
    if not (told["rows"] or told["inputs"] or told["results"]):
        return "nothing changes"
    if not (told["inputs"] or told["results"]):
        return f"no figure changes; {len(told['rows'])} row digests do"
    return f"{len(told['inputs'])} inputs and {len(told['results'])} results change"
