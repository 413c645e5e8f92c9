"""Canonical JSON and digests: pinned values, because a digest that changes breaks every saved answer."""

from __future__ import annotations

import hashlib
from itertools import islice

import pytest
import rfc8785
from hypothesis import given, settings
from hypothesis import strategies as st

from refdb.data import current
from refdb.lookup import ReleaseStore
from refdb.records import canonical, digest, release_digest
from refdb.records.models import RECORD, Scalar
from refdb.records.names import normal_name

RECORD_V1 = {
    "format": "refdb-record/1",
    "id": "invented-metal.density.01",
    "kind": "scalar",
    "source": "first-article",
    "locator": "table 1",
    "basis": "measured",
    "seen": "original",
    "subject": "invented-metal",
    "property": "density",
    "unit": "g/cm3",
    "state": {"temperature": "not stated"},
    "number": "7.50",
}


def test_canonical_json_is_sorted_compact_and_utf_8() -> None:
    assert canonical({"b": "ß", "a": ["1", True]}) == '{"a":["1",true],"b":"ß"}'.encode()


KEYS = st.text(st.characters(max_codepoint=127), max_size=5)
EVERY = 29
WHOLE = st.integers(-(2**53) + 1, 2**53 - 1)
# Drawing large documents takes a hundred times as long as writing them.
MOST = 5 if settings.get_current_profile_name() == "ci" else None
LEAVES = 20 if settings.get_current_profile_name() == "ci" else 100
VALUES = st.recursive(
    st.text(max_size=MOST and 4 * MOST) | WHOLE | st.booleans(),
    lambda inner: st.lists(inner, max_size=MOST) | st.dictionaries(KEYS, inner, max_size=MOST),
    max_leaves=LEAVES,
)


@given(st.dictionaries(KEYS, VALUES))
def test_canonical_json_is_that_of_an_independent_writer_of_rfc_8785(record: dict[str, object]) -> None:
    assert canonical(record) == rfc8785.dumps(record)  # type: ignore[arg-type]


def test_released_records_are_written_as_an_independent_writer_of_rfc_8785_does() -> None:
    store = ReleaseStore(current().store)
    for record in islice(store.all(store.release()), 0, None, EVERY):
        assert canonical(record.body) == rfc8785.dumps(record.body), record.id


def test_the_digest_of_a_record_of_format_v1_never_changes() -> None:
    expected = "sha256:" + hashlib.sha256(canonical(RECORD_V1)).hexdigest()
    assert digest(RECORD_V1) == expected == "sha256:4fab849888316944ffc03d351bc9e2c12bc23c17f922beb27240f2bcf271dcb2"


def test_absent_fields_are_omitted_so_that_new_optional_fields_change_no_digest() -> None:
    assert Scalar.model_validate(RECORD_V1).plain() == RECORD_V1


def test_a_printed_number_keeps_its_digits() -> None:
    assert RECORD.validate_python(RECORD_V1).plain()["number"] == "7.50"


def test_the_digest_of_a_release_is_that_of_its_sorted_lines() -> None:
    lines = "a sha256:1\nb sha256:2\n"
    expected = "sha256:" + hashlib.sha256(lines.encode()).hexdigest()
    assert release_digest([("b", "sha256:2"), ("a", "sha256:1")]) == expected


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("316 L", "316L", True),
        ("Stainless-Steel 316L", "stainless steel 316l", True),
        ("1.4404", "14404", False),
        ("316", "316L", False),
        ("NPS 8 Sch 40", "nps-8-sch-40", True),
    ],
)
def test_names_are_compared_without_spaces_hyphens_and_case_but_with_points(one: str, other: str, same: bool) -> None:
    assert (normal_name(one) == normal_name(other)) is same


def test_formulas_are_case_exact() -> None:
    assert normal_name("Co", case_exact=True) != normal_name("CO", case_exact=True)
