"""A row whose evidence has not changed is carried forward, whatever the last bits of this machine's arithmetic are."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from refdb.build.carry import carried_forward
from refdb.build.text import full_records, read_releases
from refdb.records import digest


def _row(row: str, coefficients: list[Any], **more: Any) -> dict[str, Any]:
    return {"id": row, "kind": "recommended", "form": {"name": "x/1", "coefficients": coefficients}, **more}


CHECKOUT = Path(__file__).parents[2]
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


def test_the_new_version_of_a_row_is_named_by_whatever_rests_on_it_however_far_up() -> None:
    derived = _row("a", ["1482.38264719271", "-3e-7"])
    middle = {"id": "b", "inputs": [{"id": "a", "digest": digest(derived)}]}
    top = {"id": "c", "inputs": [{"id": "b", "digest": digest(middle)}]}
    kept = carried_forward({"a": derived, "b": middle, "c": top}, {"a": RELEASED})
    assert kept["b"]["inputs"] == [{"id": "a", "digest": digest(RELEASED)}]
    assert kept["c"]["inputs"] == [{"id": "b", "digest": digest(kept["b"])}]


def test_every_input_of_the_newest_release_names_a_version_that_the_release_holds() -> None:
    records = full_records(read_releases(CHECKOUT))
    digests = {row: digest(record) for row, record in records.items()}
    named = [(row, entry) for row, record in records.items() for entry in record.get("inputs", ()) if "id" in entry]
    assert len(named) > 10_000
    assert [row for row, entry in named if digests[entry["id"]] != entry["digest"]] == []
