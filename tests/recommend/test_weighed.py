"""Rule consensus/3 on invented readings: classes of evidence, dynamic constants, copies, frequency and correlation."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from refdb.problems import LedgerError
from refdb.recommend.lineage import Lineages
from refdb.recommend.policy import DiluteAlloys, SharedLineage
from refdb.recommend.solids.covariance import with_correlations
from refdb.recommend.solids.kin import widened
from refdb.recommend.solids.static_bias import Comparison, StaticBias
from refdb.records.models import RecommendedValue, Source
from refdb.release import derive_records
from tests.invented import READINGS_HEADER, follow_weighed_rule, write_document

ROW = "invented-metal.longitudinal_speed"
HEADER = READINGS_HEADER.strip() + ",method,frequency\n"


@pytest.fixture
def weighed(invented_text: Path) -> Path:
    """The invented text under consensus/3."""
    follow_weighed_rule(invented_text)
    return invented_text


def _line(row: str, value: str, unit: str, *, method: str = "", frequency: str = "", place: str = "p. 1") -> str:
    subject, property_id, _ = row.split(".")
    return f"{row},{subject},{property_id},{value},,,{unit},20 degC,{place},,,{method},{frequency}\n"


def _document(text: Path, key: str, *lines: str, kind: str = "article", basis: str = "measured") -> None:
    folder = write_document(text, key, HEADER + "".join(lines))
    source = folder / "source.toml"
    told = (
        source.read_text()
        .replace('type = "article"', f'type = "{kind}"')
        .replace('basis = "measured"', f'basis = "{basis}"')
    )
    source.write_text(told)


def _left_out(row: dict[str, Any]) -> dict[str, str]:
    return {entry["id"]: entry["reason"] for entry in row.get("left_out", [])}


def test_a_programs_default_gives_way_to_one_measurement_and_is_told(weighed: Path) -> None:
    _document(weighed, "program", _line(f"{ROW}.02", "5400", "m/s"), kind="library", basis="evaluated")
    row = derive_records(weighed)[ROW]
    assert row["rule"] == "consensus/3"
    assert row["form"]["coefficients"]["c0"] == "5000"
    assert _left_out(row) == {f"{ROW}.02": "program's default, which gives way to a measurement"}


def test_a_teaching_table_gives_way_to_two_measurements_but_not_to_one(weighed: Path) -> None:
    _document(weighed, "textbook", _line(f"{ROW}.02", "5100", "m/s"), kind="textbook", basis="evaluated")
    assert not _left_out(derive_records(weighed)[ROW])
    _document(weighed, "second-article", _line(f"{ROW}.03", "5010", "m/s"))
    assert list(_left_out(derive_records(weighed)[ROW])) == [f"{ROW}.02"]


def test_a_class_that_is_further_off_weighs_less(weighed: Path) -> None:
    _document(weighed, "textbook", _line(f"{ROW}.02", "5100", "m/s"), kind="textbook", basis="evaluated")
    entries = {entry["id"]: entry for entry in derive_records(weighed)[ROW]["inputs"]}
    # Twice the spread of its group more: variances of 1 and 1 + 4 parts.
    assert float(entries[f"{ROW}.02"]["standard_uncertainty"]) == pytest.approx(2 * 0.01 * 5100.0, rel=0.02)
    assert float(entries[f"{ROW}.01"]["weight"]) > 4 * float(entries[f"{ROW}.02"]["weight"])


# Aluminium by its constants: K 76 GPa, G 26 GPa and 2700 kg/m3 give 6402 and 3103 m/s by (K + 4G/3)/rho and G/rho:
# Landau and Lifshitz, Theory of Elasticity, section 22.
def test_two_constants_found_by_sound_and_a_density_give_both_speeds(weighed: Path) -> None:
    _document(
        weighed,
        "constants",
        _line("red-metal.bulk_modulus.01", "76.0", "GPa", method="dynamic"),
        _line("red-metal.shear_modulus.01", "26.0", "GPa", method="dynamic"),
        _line("red-metal.density.01", "2700", "kg/m3"),
    )
    _subject(weighed, "red-metal", "other-metal")
    rows = derive_records(weighed)
    for name, expected in (("longitudinal_speed", 6402.2), ("shear_speed", 3103.2)):
        row = rows[f"red-metal.{name}"]
        assert (row["rung"], row["rule"]) == ("published", "consensus/3")
        assert float(row["form"]["coefficients"]["c0"]) == pytest.approx(expected, rel=2e-4)
        assert "dynamic K and G give it, with the printed density of 2700 kg/m3" in row["inputs"][0]["note"]


@pytest.mark.parametrize("method", ["static", "isothermal", ""])
def test_no_other_constants_become_a_published_speed(weighed: Path, method: str) -> None:
    _document(
        weighed,
        "constants",
        _line("red-metal.bulk_modulus.01", "76.0", "GPa", method=method),
        _line("red-metal.shear_modulus.01", "26.0", "GPa", method=method),
        _line("red-metal.density.01", "2700", "kg/m3"),
    )
    _subject(weighed, "red-metal", "other-metal")
    assert derive_records(weighed).get("red-metal.longitudinal_speed", {"rung": "none"})["rung"] != "published"


def test_a_modulus_found_by_sound_stays_out_of_the_static_one(weighed: Path) -> None:
    _document(weighed, "load", _line("invented-plastic.youngs_modulus.01", "1.0", "GPa", method="static"))
    _document(weighed, "sound", _line("invented-plastic.youngs_modulus.02", "3.0", "GPa", method="dynamic"))
    row = derive_records(weighed)["invented-plastic.youngs_modulus"]
    assert float(row["form"]["coefficients"]["c0"]) == pytest.approx(1e9)
    assert "found by sound" in _left_out(row)["invented-plastic.youngs_modulus.02"]


# Δc/c = (αλ/π²) ln(f2/f1): 0.1 Np per wavelength make 0.1 ln(10)/π² = 2.33 % a decade (Kramers and Kronig).
def test_a_plastics_speed_is_told_at_one_frequency_and_moved_there(weighed: Path) -> None:
    name = "invented-plastic.longitudinal_speed"
    _document(
        weighed,
        "plastic",
        _line(f"{name}.01", "2000", "m/s", frequency="1 MHz"),
        _line("invented-plastic.longitudinal_attenuation.01", "0.1", "Np/wavelength"),
    )
    row = derive_records(weighed)[name]
    assert row["frequency"] == {"number": "3", "low": "1", "high": "10", "unit": "MHz", "per_decade": "2.3"}
    rise = 0.1 * math.log(10.0) / math.pi**2 * math.log10(3.0)
    assert float(row["form"]["coefficients"]["c0"]) == pytest.approx(2000.0 * (1.0 + rise), rel=1e-4)


def test_an_attenuation_is_a_geometric_mean_with_a_factor(weighed: Path) -> None:
    name = "invented-plastic.longitudinal_attenuation"
    for number, value in (("1", "0.05"), ("2", "0.2")):
        _document(weighed, f"absorbing-{number}", _line(f"{name}.0{number}", value, "Np/wavelength"))
    row = derive_records(weighed)[name]
    assert float(row["form"]["coefficients"]["c0"]) == pytest.approx(0.1, rel=1e-3)
    assert float(row["uncertainty"]["number"]) == pytest.approx(0.1 * 0.4 * math.sqrt(1.5), rel=0.05)
    assert "not stated" in row["notes"][0]


def test_equal_numbers_of_documents_whose_tables_coincide_count_once_and_others_do_not() -> None:
    sources = [_source(key) for key in ("one", "other", "third")]
    pair = SharedLineage(documents=["one", "other"], shared=10, equal=4, probability="0.01", examples=[])
    lineages = Lineages(sources, [pair])
    assert "of 10 materials that one and other print, 4 have equal numbers" in (
        lineages.copied("one", "other", 5e3, 5e3) or ""
    )
    assert lineages.copied("one", "other", 5e3, 5010.0) is None
    assert lineages.copied("one", "third", 5e3, 5e3) is None


def test_names_that_are_not_there_are_told_all_at_once(weighed: Path) -> None:
    rules = weighed / "sources" / "rules" / "invented.toml"
    rules.write_text(
        rules.read_text().replace(
            'gives_way_to = ["measurement"]', 'gives_way_to = ["miracle"]\ndocuments = ["nobody"]'
        )
        + '\n[[dilute]]\nof = "unobtainium"\nsubjects = []\ndifference = "0.01"\nreason = "Invented."\n'
    )
    with pytest.raises(LedgerError) as told:
        derive_records(weighed)
    words = "\n".join(told.value.findings)
    for name in ("no class of evidence 'miracle'", "no document 'nobody'", "no subject 'unobtainium'"):
        assert name in words


def test_speeds_of_one_document_err_together_and_symmetrically(weighed: Path) -> None:
    _document(
        weighed,
        "both",
        _line("red-metal.longitudinal_speed.01", "5000", "m/s"),
        _line("red-metal.shear_speed.01", "2800", "m/s"),
    )
    _subject(weighed, "red-metal", "other-metal")
    rows = derive_records(weighed)
    assert rows["red-metal.longitudinal_speed"]["correlations"] == {"red-metal.shear_speed": "0.5"}
    assert rows["red-metal.shear_speed"]["correlations"] == {"red-metal.longitudinal_speed": "0.5"}


def test_a_derived_speed_errs_with_what_it_is_derived_from() -> None:
    density = _row("metal.density", "8000", "80", "published")
    speed = _row("metal.shear_speed", "3000", "30", "derived", note={"metal.density": "contributes -15 m/s"})
    found = with_correlations({row.id: row for row in (density, speed)}, (), lambda _: None)
    assert found["metal.density"].correlations == {"metal.shear_speed": "-0.5"}


def test_kinds_of_one_metal_that_differ_widen_one_another_and_move_none() -> None:
    rows = {
        row.id: row
        for row in (
            _row("pure.shear_speed", "2300", "10", "published"),
            _row("drawn.shear_speed", "2400", "10", "published"),
        )
    }
    entry = DiluteAlloys(of="pure", subjects=["drawn"], difference="0.01", reason="Invented.")
    found = widened(entry, "shear_speed", rows)
    # Two values 100 apart, 10 uncertain each: the variance between them is 100²/2 - 10².
    assert float(found["pure.shear_speed"].uncertainty.number) == pytest.approx(math.sqrt(5000.0), rel=0.02)
    assert found["drawn.shear_speed"].form == rows["drawn.shear_speed"].form
    near = rows | {"drawn.shear_speed": _row("drawn.shear_speed", "2305", "10", "published")}
    assert widened(entry, "shear_speed", near) == {}


def test_a_bias_is_drawn_to_that_of_all_families_as_far_as_its_own_comparisons_are_few() -> None:
    others = [Comparison(f"a{n}", "many", -0.02 + 0.001 * n, 0.005) for n in range(8)]
    own = [Comparison(f"b{n}", "few", 0.02, 0.005) for n in range(3)]
    bias = StaticBias([*others, *own])
    many, few, none = bias.of("many"), bias.of("few"), bias.of("another")
    assert many is not None
    assert few is not None
    assert none is not None
    assert many.mean < none.mean < few.mean < 0.02
    assert none.mean_uncertainty > few.mean_uncertainty
    assert StaticBias(own[:2]).of("few") is None


def test_a_comparison_has_no_part_in_the_bias_that_it_is_held_against() -> None:
    told = [Comparison(f"a{n}", "many", 0.0, 0.005) for n in range(4)]
    bias = StaticBias([*told, Comparison("odd", "many", 0.2, 0.005)])
    without, with_it = bias.of("many", without="odd"), bias.of("many")
    assert without is not None
    assert with_it is not None
    assert without.mean == pytest.approx(0.0, abs=1e-12)
    assert with_it.mean > 0.01


def _subject(text: Path, name: str, family: str) -> None:
    subjects = text / "shared" / "subjects" / "invented.toml"
    subjects.write_text(
        subjects.read_text() + f'\n[{name}]\nname = "{name}"\nsubject_kind = "material"\nfamily = "{family}"\n'
    )


def _source(key: str) -> Source:
    return Source.model_validate(
        {
            "id": key, "type": "article", "title": key, "seen_at": "invented", "seen_on": "2026-12-01",
            "transcribed_by": "nobody", "rights": "facts-only",
        }
    )  # fmt: skip


def _row(row_id: str, value: str, uncertainty: str, rung: str, note: dict[str, str] | None = None) -> RecommendedValue:
    subject, property_id = row_id.split(".")
    digest = "sha256:" + 64 * "0"
    inputs = [
        {"id": name, "digest": digest, "note": words} for name, words in (note or {f"{row_id}.01": "read"}).items()
    ]
    return RecommendedValue.model_validate(
        {
            "id": row_id, "subject": subject, "property": property_id, "unit": "m/s",
            "form": {"name": "constant/1", "coefficients": {"c0": value}},
            "domain": {"temperature": {"low": "0", "high": "40", "unit": "degC"}},
            "uncertainty": {"number": uncertainty, "unit": "m/s", "code": "propagated", "text": "invented"},
            "rule": "consensus/3", "basis": "measured", "seen": "original", "rung": rung, "inputs": inputs,
        }
    )  # fmt: skip
