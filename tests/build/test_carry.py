"""A row whose evidence has not changed is carried forward, whatever the last bits of this machine's arithmetic are."""

from __future__ import annotations

from typing import Any

import pytest

from refdb.build.carry import carried_forward
from refdb.records import digest


def _row(row: str, coefficients: list[Any], **more: Any) -> dict[str, Any]:
    return {"id": row, "kind": "recommended", "form": {"name": "x/1", "coefficients": coefficients}, **more}


RELEASED = _row("a", ["1482.3826471927", "-3.0000000000001e-7"])


def test_the_last_bits_of_coefficients_make_no_new_row() -> None:
    derived = _row("a", ["1482.38264719271", "-2.9999999999e-7"])
    assert carried_forward({"a": derived}, {"a": RELEASED}) == {"a": RELEASED}


@pytest.mark.parametrize(
    "changed",
    [
        _row("a", ["1482.3826472927", "-3.0000000000001e-7"]),
        _row("a", ["1482.3826471927"]),
        _row("a", ["1482.3826471927", "-3.0000000000001e-7"], unit="ft/s"),
    ],
    ids=["a coefficient", "their number", "another field"],
)
def test_what_did_change_stays_changed(changed: dict[str, Any]) -> None:
    assert carried_forward({"a": changed}, {"a": RELEASED}) == {"a": changed}


def test_rows_that_rest_on_a_row_carried_forward_name_the_released_version_and_are_carried_with_it() -> None:
    derived = _row("a", ["1482.38264719271", "-3e-7"])
    resting = {"id": "b", "inputs": [{"id": "a", "digest": digest(RELEASED)}]}
    new = {"id": "c", "inputs": [{"id": "a", "digest": digest(derived)}, {"id": "z", "digest": "other"}]}
    today = {"a": derived, "b": {"id": "b", "inputs": [{"id": "a", "digest": digest(derived)}]}, "c": new}
    kept = carried_forward(today, {"a": RELEASED, "b": resting})
    assert kept["b"] == resting
    assert kept["c"]["inputs"] == [{"id": "a", "digest": digest(RELEASED)}, {"id": "z", "digest": "other"}]
