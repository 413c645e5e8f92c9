"""Rules reference/1, isotropic-moduli/1, printed-dimensions/1 and printed-roughness/1."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from refdb.forms.elasticity import poisson_ratio_of_speeds, speeds_from_moduli
from refdb.problems import LedgerError
from refdb.release import derive_records
from tests.invented import EQUATION, READINGS_HEADER, write_document


def test_one_curve_is_followed_and_the_largest_disagreement_becomes_the_uncertainty(invented_text: Path) -> None:
    write_document(invented_text, "second", READINGS_HEADER)
    other = EQUATION.replace(".01", ".02").replace('"1300"', '"1303"')
    (invented_text / "sources" / "documents" / "read" / "second" / "equations.toml").write_text(other)
    row = derive_records(invented_text)["invented-liquid.sound_speed"]
    assert row["form"]["coefficients"] == {"c0": "1300", "c1": "-3.5"}
    assert float(row["uncertainty"]["number"]) == pytest.approx(3.0 / math.sqrt(3.0), rel=0.02)
    assert [entry["weight"] for entry in row["inputs"]] == ["1", "0"]
    assert row["inputs"][1]["note"].startswith("compared: +3 m/s at most")


def test_a_reference_to_no_equation_stops_the_build(invented_text: Path) -> None:
    rules = invented_text / "sources" / "rules" / "invented.toml"
    rules.write_text(rules.read_text().replace("invented-liquid.sound_speed.01", "invented-metal.density.01"))
    with pytest.raises(LedgerError, match=r"sources/rules: reference invented-liquid\.sound_speed"):
        derive_records(invented_text)


def _moduli(text: Path, subject: str = "invented-metal") -> None:
    rows = [
        f"{subject}.youngs_modulus.01,{subject},youngs_modulus,200,,,GPa,,p. 1,,",
        f"{subject}.poisson_ratio.01,{subject},poisson_ratio,0.30,,,1,,p. 1,,",
        f"{subject}.density.02,{subject},density,8000,,,kg/m3,,p. 1,,",
    ]
    write_document(text, "second", READINGS_HEADER + "\n".join(rows) + "\n")


def test_a_metal_without_a_printed_shear_speed_gets_a_derived_one(invented_text: Path) -> None:
    _moduli(invented_text)
    records = derive_records(invented_text)
    shear, longitudinal = records["invented-metal.shear_speed"], records["invented-metal.longitudinal_speed"]
    assert (shear["rung"], shear["basis"], shear["rule"]) == ("derived", "derived", "isotropic-moduli/1")
    assert longitudinal["rung"] == "published"
    density = float(records["invented-metal.density"]["form"]["coefficients"]["c0"])
    expected = math.sqrt(200e9 / (2.0 * 1.3 * density))
    assert float(shear["form"]["coefficients"]["c0"]) == pytest.approx(expected, rel=1e-3)


def test_the_propagated_uncertainty_holds_every_contribution(invented_text: Path) -> None:
    _moduli(invented_text)
    row = derive_records(invented_text)["invented-metal.shear_speed"]
    parts = [float(entry["note"].split()[1]) for entry in row["inputs"]]
    allowance = float(row["working"]["static_modulus_allowance"].split()[0])
    assert float(row["uncertainty"]["number"]) == pytest.approx(math.hypot(*parts, allowance), rel=0.03)


def test_a_plastic_gets_no_speed_from_static_moduli(invented_text: Path) -> None:
    _moduli(invented_text, "invented-plastic")
    records = derive_records(invented_text)
    assert "invented-plastic.youngs_modulus" in records
    assert "invented-plastic.shear_speed" not in records


@pytest.mark.parametrize("nu", [0.05, 0.26, 0.30, 0.45])
def test_speeds_and_poisson_ratio_are_inverse(nu: float) -> None:
    assert poisson_ratio_of_speeds(*speeds_from_moduli(2.0e11, nu, 7800.0)) == pytest.approx(nu, rel=1e-12)


def test_a_pipe_row_shows_each_unit_as_printed(records: dict[str, dict[str, Any]]) -> None:
    row = records["b36.10-nps-8-sch-40"]
    printed = {entry["unit"]: (entry["outside_diameter"], entry["wall"]) for entry in row["dimensions"]}
    assert printed == {"in": ("8.625", "0.322"), "mm": ("219.1", "8.18")}
    assert set(row["designations"]) == {"STD", "40"}


def test_a_misprinted_pipe_stays_out_of_its_row(records: dict[str, dict[str, Any]]) -> None:
    row = records["b36.10-nps-10-sch-160"]
    assert {entry["wall"] for entry in row["dimensions"]} == {"1.125", "28.58"}
    assert any(entry["reason"].startswith("misprint: ") for entry in row["left_out"])


def test_roughness_is_averaged_in_the_logarithm_with_one_voice_for_each_document(
    records: dict[str, dict[str, Any]],
) -> None:
    row = records["roughness.steel-new"]
    voices: dict[str, list[float]] = {}
    for entry in row["inputs"]:
        source = records[records[entry["id"]]["source"]]
        voices.setdefault(source.get("lineage", source["id"]), []).append(math.log(float(entry["value"])))
    means = [sum(values) / len(values) for values in voices.values()]
    assert 1 < len(voices) < len(row["inputs"])
    assert row["rule"] == "printed-roughness/2"
    assert float(row["number"]) == pytest.approx(math.exp(sum(means) / len(means)), rel=0.01)
    values = [float(entry["value"]) for entry in row["inputs"]]
    assert float(row["low"]) <= min(values) <= max(values) <= float(row["high"])


def test_a_doubted_roughness_is_left_out_and_told(records: dict[str, dict[str, Any]]) -> None:
    row = records["roughness.cast-iron-coated"]
    assert all(entry["reason"].startswith("suspect: ") for entry in row["left_out"])
    assert len(row["left_out"]) == 3


def test_a_roughness_of_one_document_keeps_the_rule_it_was_released_with(records: dict[str, dict[str, Any]]) -> None:
    assert records["roughness.pvc-cemented-joints"]["rule"] == "printed-roughness/1"


def test_a_pipe_that_somebody_saw_is_never_shadowed_by_memory(records: dict[str, dict[str, Any]]) -> None:
    pipes = [record for record in records.values() if record["kind"] == "recommended-pipe"]
    for pipe in pipes:
        seen = {records[entry["id"]]["seen"] for entry in pipe["inputs"]}
        assert (seen == {"memory"}) == (pipe["rung"] == "memory")
        assert "memory" not in seen or len(seen) == 1
    assert any(pipe["rung"] == "memory" for pipe in pipes)


def test_rows_of_the_first_rule_are_those_it_can_say(records: dict[str, dict[str, Any]]) -> None:
    assert records["b36.10-nps-8-sch-40"]["rule"] == "printed-dimensions/1"
    assert records["d1785-nps-2-sch-40"]["rule"] == "printed-dimensions/2"
    kinds = {entry.get("wall_is", "nominal") for entry in records["d1785-nps-2-sch-40"]["dimensions"]}
    assert kinds == {"minimum", "average"}


def test_a_flagged_pipe_never_reaches_a_recommended_row(records: dict[str, dict[str, Any]]) -> None:
    flagged = {
        record["id"]
        for record in records.values()
        if record["kind"] in {"pipe", "tolerance", "lining", "roughness"}
        and any(flag["code"] != "note" for flag in record.get("flags", []))
    }
    used = {entry["id"] for record in records.values() for entry in record.get("inputs", [])}
    assert len(flagged) > 60
    assert not flagged & used
