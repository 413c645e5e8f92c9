"""Rule consensus/2 on invented readings: what weighs, what is an outlier, and an uncertainty for one specimen."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from refdb.recommend.arithmetic import PlainMean
from refdb.recommend.evidence import Single
from refdb.recommend.policy import load_policy
from refdb.recommend.random_effects import NO_PRIOR, Prior, combine, modified_z_scores, paule_mandel
from refdb.release import derive_records
from tests.conftest import PROJECT
from tests.invented import READINGS_HEADER, follow_second_rule, write_document

ROW = "invented-metal.longitudinal_speed"
SPREAD, DOCUMENT = 0.015, 0.008
"""Of the invented metals: what specimens differ by, and what a document is off by."""


@pytest.fixture
def second(invented_text: Path) -> Path:
    """The invented text under consensus/2."""
    follow_second_rule(invented_text)
    return invented_text


def _speed(number: int, value: str, temperature: str = "20 degC") -> str:
    return f"{ROW}.0{number},invented-metal,longitudinal_speed,{value},,,m/s,{temperature},p. 1,,\n"


def _documents(text: Path, *values: str) -> dict[str, Any]:
    for number, value in enumerate(values, start=2):
        write_document(text, f"article-{number}", READINGS_HEADER + _speed(number, value))
    return derive_records(text)[ROW]


def _left_out(row: dict[str, Any]) -> dict[str, str]:
    return {entry["id"]: entry["reason"] for entry in row.get("left_out", [])}


def test_a_lone_document_gets_its_own_doubt_and_twice_the_spread_of_specimens(second: Path) -> None:
    row = derive_records(second)[ROW]
    assert (row["rule"], row["form"]["coefficients"]["c0"]) == ("consensus/2", "5000")
    rounding, neglected = 0.5 / math.sqrt(3.0), 0.00015 * 5000.0 * 20.0 / math.sqrt(3.0)
    # The specimen that was measured and the user's both differ from the mean; t for 19 degrees of freedom is 2.093.
    sizes = (DOCUMENT * 5000.0, rounding, SPREAD * 5000.0, SPREAD * 5000.0)
    expected = math.hypot(2.093 / 2.0 * math.hypot(*sizes), neglected)
    assert float(row["uncertainty"]["number"]) == pytest.approx(expected, rel=0.02)


def test_more_documents_that_agree_make_the_value_better_but_never_better_than_the_spread_of_specimens(
    second: Path,
) -> None:
    alone = float(derive_records(second)[ROW]["uncertainty"]["number"])
    together = float(_documents(second, "5003", "4998", "5001")["uncertainty"]["number"])
    assert 0.9 * SPREAD * 5000.0 < together < alone


def test_documents_that_disagree_more_than_the_family_does_widen_the_value(second: Path) -> None:
    agreeing = float(_documents(second, "5003", "4998", "5001")["uncertainty"]["number"])
    disagreeing = float(_documents(second, "5200", "4800", "5150")["uncertainty"]["number"])
    assert disagreeing > 1.3 * agreeing


def test_one_document_far_from_the_others_is_left_out_with_its_score(second: Path) -> None:
    row = _documents(second, "5010", "4990", "6300")
    assert _left_out(row)[f"{ROW}.04"].startswith("outlier: 6300 lies +")
    assert float(row["form"]["coefficients"]["c0"]) == pytest.approx(5000.0, abs=5.0)


def test_of_two_documents_none_is_called_the_outlier(second: Path) -> None:
    row = _documents(second, "6300")
    assert not _left_out(row)
    assert float(row["uncertainty"]["number"]) > 300.0


def test_documents_that_agree_to_the_digit_make_no_outlier_of_one_that_is_one_percent_off(second: Path) -> None:
    assert not _left_out(_documents(second, "5000", "5000", "5050"))


def test_a_document_that_states_its_uncertainty_weighs_more(second: Path) -> None:
    header = "id,subject,property,value,unit,temperature,locator,uncertainty,uncertainty_unit,uncertainty_kind\n"
    stated = f"{ROW}.02,invented-metal,longitudinal_speed,5100,m/s,20 degC,p. 1,5,m/s,standard\n"
    write_document(second, "article-2", header + stated)
    weights = {entry["id"]: float(entry["weight"]) for entry in derive_records(second)[ROW]["inputs"]}
    assert weights[f"{ROW}.02"] > weights[f"{ROW}.01"]


def _plastic(number: int, value: str) -> str:
    plastic = "invented-plastic.longitudinal_speed"
    return f"{plastic}.0{number},invented-plastic,longitudinal_speed,{value},,,m/s,20 degC,p. {number},,\n"


@pytest.mark.parametrize(
    ("others", "half_a_digit"), [(("2100", "2300"), 50.0), (("2110", "2300"), 5.0), (("2101",), 0.5)]
)
def test_a_document_prints_no_finer_than_the_zeros_that_all_its_numbers_end_in(
    second: Path, others: tuple[str, ...], half_a_digit: float
) -> None:
    plastics = "".join(_plastic(number, value) for number, value in enumerate(others, start=1))
    write_document(second, "article-2", READINGS_HEADER + _speed(2, "5100") + plastics)
    entries = {entry["id"]: float(entry["standard_uncertainty"]) for entry in derive_records(second)[ROW]["inputs"]}
    expected = math.hypot(DOCUMENT * 5100.0, half_a_digit / math.sqrt(3.0))
    assert entries[f"{ROW}.02"] == pytest.approx(expected, rel=0.02)


def test_a_speed_whose_temperature_is_not_stated_is_less_certain(second: Path) -> None:
    plastic = "invented-plastic.longitudinal_speed"
    rows = [
        f"{plastic}.0{n},invented-plastic,longitudinal_speed,2000,,,m/s,{t},p. 1,,\n"
        for n, t in ((1, "20 degC"), (2, ""))
    ]
    write_document(second, "article-2", READINGS_HEADER + "".join(rows))
    one, other = derive_records(second)[plastic]["inputs"]
    # Room temperature is 15 to 30 degC here: 7.5 K as a rectangular half-width, 0.3 % per kelvin.
    unstated = 0.003 * 2000.0 * 7.5 / math.sqrt(3.0)
    expected = math.hypot(float(one["standard_uncertainty"]), unstated)
    assert float(other["standard_uncertainty"]) == pytest.approx(expected, rel=0.02)


def _from_memory(text: Path, value: str) -> None:
    file = write_document(text, "recalled", READINGS_HEADER + _speed(9, value), group="memory") / "source.toml"
    file.write_text(file.read_text().replace('"article"', '"memory"'))


def test_what_is_recalled_never_shadows_what_was_seen(second: Path) -> None:
    _from_memory(second, "5300")
    row = derive_records(second)[ROW]
    assert (row["rung"], row["form"]["coefficients"]["c0"]) == ("published", "5000")
    assert _left_out(row)[f"{ROW}.09"].startswith("from memory")


def test_what_is_only_recalled_is_a_rung_of_its_own(second: Path) -> None:
    readings = second / "sources" / "documents" / "read" / "first-article" / "readings.csv"
    readings.write_text("".join(line for line in readings.read_text().splitlines(True) if ROW not in line))
    _from_memory(second, "5300")
    row = derive_records(second)[ROW]
    assert (row["rung"], row["seen"], row["form"]["coefficients"]["c0"]) == ("memory", "memory", "5300")


def test_the_plain_rule_still_gives_what_it_gave_in_released_rows(database: Any) -> None:
    """From the inputs that released rows of consensus/1 name, the rule gives their values again."""
    policy = load_policy(PROJECT)
    rows = [
        row.body
        for row in database.store.of_kind("recommended", database.release("2026r2"))
        if row.body["rule"] == "consensus/1"
    ]
    compared = 0
    for row in rows:
        if len({entry["weight"] for entry in row["inputs"]}) > 1 or "left_out" in row:
            continue  # several readings of one document: the grouping is not told by the row alone
        singles = [Single(float(e["value"]), float(e["standard_uncertainty"])) for e in row["inputs"]]
        if int(row["working"]["independent_readings"]) != len(singles):
            continue
        found = PlainMean().estimate(singles, row["property"], policy.families["metals"])
        assert found.value == pytest.approx(float(row["form"]["coefficients"]["c0"]), rel=1e-4), row["id"]
        neglected = float(row["working"].get("neglected_temperature_dependence", 0.0))
        told = float(row["uncertainty"]["number"])
        assert math.hypot(found.uncertainty, neglected) == pytest.approx(told, rel=0.06), row["id"]
        compared += 1
    assert compared > 100


def test_values_that_agree_within_their_uncertainty_show_no_variance_between_them() -> None:
    assert paule_mandel([10.0, 10.1, 9.9], [1.0, 1.0, 1.0]) == 0.0
    assert paule_mandel([10.0], [1.0]) == 0.0


def test_equal_uncertainties_give_the_plain_mean_and_the_plain_variance() -> None:
    values = [1.0, 2.0, 4.0, 9.0]
    found = combine(values, [0.1] * 4, NO_PRIOR)
    assert found.mean == pytest.approx(4.0)
    assert found.between**2 == pytest.approx(38.0 / 3.0 - 0.01)
    assert found.freedom == 2


def test_a_family_that_is_worth_much_outweighs_two_documents() -> None:
    modest, firm = (combine([1.0, 2.0], [0.01, 0.01], Prior(0.05, freedom)) for freedom in (1, 1000))
    assert firm.pooled == pytest.approx(0.05, rel=0.1)
    assert modest.pooled > 5.0 * firm.pooled


def test_scores_are_those_of_the_median_unless_the_readings_allow_more() -> None:
    values = [1.0, 2.0, 3.0, 4.0, 100.0]
    assert modified_z_scores(values, [0.0] * 5)[4] == pytest.approx(0.6745 * 97.0)
    assert modified_z_scores(values, [50.0] * 5)[4] == pytest.approx(97.0 / 50.0)
