"""Rule consensus/1 on invented readings: what goes in, what stays out and why, and an uncertainty for one specimen."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from refdb.release import derive_records
from tests.invented import FIRST_READINGS, READINGS_HEADER, write_document

ROW = "invented-metal.longitudinal_speed"


def _reading(number: str, value: str, temperature: str = "", flag: str = "") -> str:
    return (
        f"{ROW}.{number},invented-metal,longitudinal_speed,{value},,,m/s,{temperature},p. 1,{flag},{flag and 'why'}\n"
    )


def _derived(text: Path, **documents: str) -> dict[str, Any]:
    for key, rows in documents.items():
        lineage, _, rest = rows.partition("|") if rows.startswith("lineage") else ("", "", rows)
        more = f'lineage = "{lineage.removeprefix("lineage:")}"\n' if lineage else ""
        write_document(text, key, READINGS_HEADER + rest, more)
    return derive_records(text)[ROW]


def _left_out(row: dict[str, Any]) -> dict[str, str]:
    return {entry["id"]: entry["reason"] for entry in row.get("left_out", [])}


def test_the_mean_of_independent_documents_is_recommended(invented_text: Path) -> None:
    row = _derived(invented_text, second=_reading("02", "5100"), third=_reading("03", "5200"))
    assert row["form"]["coefficients"]["c0"] == "5100"
    assert [entry["weight"] for entry in row["inputs"]] == ["0.333333"] * 3


def test_three_documents_give_half_the_prediction_interval_of_student(invented_text: Path) -> None:
    row = _derived(invented_text, second=_reading("02", "5100"), third=_reading("03", "5200"))
    # Student's t for two degrees of freedom at 97.5 % is 4.303 (JCGM 100:2008, table G.2 gives 4.30).
    interval = 4.303 * 100.0 * math.sqrt(1.0 + 1.0 / 3.0)
    neglected = 0.00015 * 5100.0 * 20.0 / math.sqrt(3.0)
    assert float(row["uncertainty"]["number"]) == pytest.approx(math.hypot(interval / 2.0, neglected), rel=0.02)
    assert row["uncertainty"]["code"] == "between-sources"


def test_documents_that_happen_to_agree_do_not_shrink_the_uncertainty_below_what_readings_allow(
    invented_text: Path,
) -> None:
    row = _derived(invented_text, second=_reading("02", "5000"), third=_reading("03", "5001"))
    assert float(row["uncertainty"]["number"]) >= 0.015 * 5000.0
    assert row["uncertainty"]["code"] == "family-repeatability"


def test_a_single_reading_gets_the_spread_of_its_family(invented_text: Path) -> None:
    row = _derived(invented_text)
    assert float(row["uncertainty"]["number"]) == pytest.approx(75.0, rel=0.05)


def test_documents_that_copied_from_one_another_count_once(invented_text: Path) -> None:
    row = _derived(
        invented_text,
        second="lineage:one-origin|" + _reading("02", "5100"),
        third="lineage:one-origin|" + _reading("03", "5100"),
    )
    assert {entry["id"] for entry in row["inputs"]} == {f"{ROW}.01", f"{ROW}.02"}
    assert "shares its origin" in _left_out(row)[f"{ROW}.03"]


def test_several_readings_of_one_document_are_averaged_first(invented_text: Path) -> None:
    row = _derived(invented_text, second=_reading("02", "5100") + _reading("03", "5300"))
    assert row["form"]["coefficients"]["c0"] == "5100"
    assert [entry["weight"] for entry in row["inputs"]] == ["0.5", "0.25", "0.25"]


@pytest.mark.parametrize("flag", ["misprint", "suspect", "wrong-kind", "unclear-basis"])
def test_a_doubted_reading_stays_out_with_its_reason(invented_text: Path, flag: str) -> None:
    row = _derived(invented_text, second=_reading("02", "9999", flag=flag))
    assert row["form"]["coefficients"]["c0"] == "5000"
    assert _left_out(row)[f"{ROW}.02"] == f"{flag}: why"


def test_a_note_keeps_nothing_out(invented_text: Path) -> None:
    row = _derived(invented_text, second=_reading("02", "5100", flag="note"))
    assert len(row["inputs"]) == 2


@pytest.mark.parametrize(
    ("temperature", "goes_in"),
    [
        ("", True),
        ("room temperature", True),
        ("68 degF", True),
        ("30 degC", True),
        ("31 degC", False),
        ("500 K", False),
    ],
)
def test_only_room_temperature_goes_in(invented_text: Path, temperature: str, goes_in: bool) -> None:
    row = _derived(invented_text, second=_reading("02", "5100", temperature=temperature))
    assert (f"{ROW}.02" in {entry["id"] for entry in row["inputs"]}) is goes_in
    if not goes_in:
        assert "not room temperature" in _left_out(row)[f"{ROW}.02"]


def test_a_printed_range_counts_at_its_middle(invented_text: Path) -> None:
    rows = f"{ROW}.02,invented-metal,longitudinal_speed,,5200,5400,m/s,,p. 1,,\n"
    row = _derived(invented_text, second=rows)
    assert row["inputs"][1]["value"] == "5300"
    assert float(row["inputs"][1]["standard_uncertainty"]) > float(row["inputs"][0]["standard_uncertainty"])


def test_units_are_converted_once_and_the_printed_ones_kept(invented_text: Path) -> None:
    rows = f"{ROW}.02,invented-metal,longitudinal_speed,0.51,,,cm/us,,p. 1,,\n"
    write_document(invented_text, "second", READINGS_HEADER + rows)
    records = derive_records(invented_text)
    assert records[ROW]["inputs"][1]["value"] == "5100"
    assert records[f"{ROW}.02"]["number"] == "0.51"
    assert records[f"{ROW}.02"]["unit"] == "cm/us"


def test_speeds_that_no_isotropic_solid_has_stay_out_with_the_numbers(invented_text: Path) -> None:
    rows = _reading("02", "5000") + ("invented-metal.shear_speed.01,invented-metal,shear_speed,4000,,,m/s,,p. 1,,\n")
    row = _derived(invented_text, second=rows)
    assert "give Poisson's ratio" in _left_out(row)[f"{ROW}.02"]


def test_a_pair_is_not_hidden_by_another_of_the_same_name_in_another_row(invented_text: Path) -> None:
    """Each printed row is checked by itself: a sound second row must not cover an impossible first one."""
    shear = "invented-metal.shear_speed"
    rows = _reading("02", "5000").replace("p. 1", "row 1") + _reading("03", "5100").replace("p. 1", "row 2")
    rows += f"{shear}.01,invented-metal,shear_speed,4000,,,m/s,,row 1,,\n"
    rows += f"{shear}.02,invented-metal,shear_speed,2600,,,m/s,,row 2,,\n"
    row = _derived(invented_text, second=rows)
    assert "give Poisson's ratio" in _left_out(row)[f"{ROW}.02"]
    assert f"{ROW}.03" in {entry["id"] for entry in row["inputs"]}


def test_the_weakest_basis_and_sight_are_shown(invented_text: Path) -> None:
    readings = READINGS_HEADER + _reading("02", "5100")
    file = write_document(invented_text, "second", readings, group="programs") / "source.toml"
    file.write_text(file.read_text().replace('basis = "measured"', 'basis = "evaluated"'))
    row = derive_records(invented_text)[ROW]
    assert (row["basis"], row["seen"]) == ("evaluated", "library")


def test_a_family_for_which_no_rule_is_written_gets_no_value(invented_text: Path) -> None:
    write_document(
        invented_text,
        "second",
        READINGS_HEADER + "invented-liquid.density.01,invented-liquid,density,900,,,kg/m3,20 degC,p. 1,,\n",
    )
    assert "invented-liquid.density" not in derive_records(invented_text)


def test_a_condition_that_readings_tell_apart_has_a_row_of_its_own(records: dict[str, dict[str, Any]]) -> None:
    whole, sintered = records["alumina.longitudinal_speed"], records["alumina.longitudinal_speed.sintered"]
    assert sintered["condition"] == "sintered"
    assert len(sintered["inputs"]) == 1 < len(whole["inputs"])


def test_first_readings_are_what_these_tests_take_them_for() -> None:
    assert FIRST_READINGS.startswith(f"{ROW}.01,invented-metal,longitudinal_speed,5000")
