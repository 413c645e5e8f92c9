"""Cells of CSV files that hold more than one number: limits and conditions.

- a limit: `12.5 %`, `0.8 mm`, `1 % or 0.5 mm` (the greater), `1.3 mm + 0.001 DN`, `at 0.401 in` (the limit itself),
  `no limit`;
- conditions: `NPS > 1 1/2; NPS <= 4`, `wall_ratio <= 0.05`, `outside_diameter <= 219.1 mm`, all of which hold.
"""

from __future__ import annotations

import re
from typing import Any

_NUMBER = r"-?(?:(?:\d+[ -])?\d+/\d+|\d*\.?\d+)"
_TERM = re.compile(
    rf"(?P<number>{_NUMBER}) (?P<unit>%|[a-z]+)(?: \+ (?P<slope>\d*\.?\d+) (?P<of>DN|outside_diameter|wall))?"
)
_EXTREME = re.compile(rf"at (?P<number>{_NUMBER}) (?P<unit>[a-z]+)")
_CONDITION = re.compile(rf"(?P<what>[A-Za-z_]+) (?P<relation><=|>=|=|<|>) (?P<number>{_NUMBER})(?: (?P<unit>[a-z]+))?")


def limit_cell(cell: str) -> dict[str, Any]:
    """The fields of a limit.

    Raises:
        ValueError: the cell is not a limit.
    """
    if cell == "no limit":
        return {"unlimited": True}
    extreme = _EXTREME.fullmatch(cell)
    if extreme is not None:
        return {"extreme": extreme.groupdict()}
    terms = [_TERM.fullmatch(part) for part in cell.split(" or ")]
    if None in terms:
        raise ValueError(
            f"'{cell}' is not a limit; write it as 12.5 %, 1 % or 0.5 mm, 1.3 mm + 0.001 DN, at 0.401 in, or no limit"
        )
    return {"greatest_of": [_present(term) for term in terms if term is not None]}


def where_cell(cell: str) -> list[dict[str, Any]]:
    """The conditions of a cell.

    Raises:
        ValueError: one of them is not a condition.
    """
    conditions = [_CONDITION.fullmatch(part) for part in cell.split("; ")]
    if None in conditions:
        raise ValueError(f"'{cell}' is not a list of conditions; write them as NPS > 1 1/2; outside_diameter <= 60 mm")
    return [_present(condition) for condition in conditions if condition is not None]


def _present(found: re.Match[str]) -> dict[str, Any]:
    return {name: text for name, text in found.groupdict().items() if text is not None}
