"""What readings print, in one line."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from refdb.pipes.tolerance import tolerance_words


def printed_words(record: Mapping[str, Any]) -> str:
    """What a reading prints, in one line."""
    unit = "" if record.get("unit") == "1" else record.get("unit", "")
    if record.get("number") is not None and "low" not in record:
        return f"{record['number']} {unit}".strip()
    if "low" in record or "high" in record:
        ends = " to ".join(record[key] for key in ("low", "number", "high") if key in record)
        return f"{ends} {unit}".strip()
    if "points" in record:
        first, last = record["points"][0][0], record["points"][-1][0]
        return f"{len(record['points'])} points, {first} to {last} {record['variable']['unit']}"
    if "coefficients" in record:
        interval = record["interval"]
        return f"{record['equation_printed']} ({interval['low']} to {interval['high']} {interval['unit']})"
    if "axes" in record:
        spans = ", ".join(f"{axis['name']} {axis['low']} to {axis['high']} {axis['unit']}" for axis in record["axes"])
        nodes = len(record.get("values", []))
        return f"{record.get('equation_printed', f'{nodes} node values')} ({spans})"
    if "quantity" in record:
        return tolerance_words(record)
    if "outside_diameter" in record:
        return _pipe_words(record)
    return f"{record['minimum']} {unit} at least"


def _pipe_words(record: Mapping[str, Any]) -> str:
    """Outside diameter, wall and inside diameter as printed, each with its kind where it is not the nominal one."""
    parts = []
    for name, sign in (("outside_diameter", ""), ("wall", "× "), ("inside_diameter", "bore ")):
        if name in record:
            kind = f" ({record[f'{name}_is']})" if f"{name}_is" in record else ""
            parts.append(f"{sign}{record[name]}{kind}")
    return f"{' '.join(parts)} {record['unit']}"


def temperature_words(state: Mapping[str, Any]) -> str:
    """The temperature of a reading as printed."""
    printed = state.get("temperature", "")
    if isinstance(printed, dict):
        ends = printed.get("number") or f"{printed['low']} to {printed['high']}"
        return f"{ends} {printed['unit']}"
    return str(printed)
