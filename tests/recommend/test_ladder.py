"""The ladder of values: published, derived, the family's, recalled; none stands where a higher one does."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from refdb.recommend.solids.from_rows import WAYS
from refdb.release import derive_records
from tests.invented import READINGS_HEADER, follow_second_rule, write_document

MEMBERS = {"red": "5000", "green": "5100", "blue": "4900", "white": "5050"}


@pytest.fixture
def second(invented_text: Path) -> Path:
    """The invented text under consensus/2."""
    follow_second_rule(invented_text)
    return invented_text


def _line(subject: str, property_id: str, value: str, unit: str) -> str:
    return f"{subject}.{property_id}.01,{subject},{property_id},{value},,,{unit},20 degC,p. 1,,\n"


def _family(text: Path, **speeds: str) -> None:
    """Metals of the family of the invented one, each with a speed."""
    subjects = text / "shared" / "subjects" / "invented.toml"
    blocks = [
        f'\n[{name}-metal]\nname = "{name} metal"\nsubject_kind = "material"\nfamily = "other-metal"\n'
        for name in speeds
    ]
    subjects.write_text(subjects.read_text() + "".join(blocks))
    rows = [_line(f"{name}-metal", "shear_speed", speed, "m/s") for name, speed in speeds.items() if speed]
    write_document(text, "family", READINGS_HEADER + "".join(rows))


def _row(text: Path, row: str) -> dict[str, Any] | None:
    return derive_records(text).get(row)


def test_a_family_stands_in_where_nothing_is_published_or_derived(second: Path) -> None:
    _family(second, **MEMBERS)
    row = _row(second, "invented-metal.shear_speed")
    assert row is not None
    assert (row["rung"], row["rule"], row["basis"]) == ("family", "family/1", "estimated")
    assert float(row["form"]["coefficients"]["c0"]) == pytest.approx(5012.5, abs=1.0)
    assert {entry["id"] for entry in row["inputs"]} == {f"{name}-metal.shear_speed" for name in MEMBERS}
    # Student's t for three degrees of freedom at 97.5 % is 3.182 (JCGM 100:2008, table G.2 gives 3.18).
    deviation = math.sqrt(sum((float(v) - 5012.5) ** 2 for v in MEMBERS.values()) / 3.0)
    own = float(row["working"]["typical_member_uncertainty"])
    expected = math.hypot(3.182 / 2.0 * deviation * math.sqrt(1.25), own)
    assert float(row["uncertainty"]["number"]) == pytest.approx(expected, rel=0.02)


def test_a_family_of_too_few_members_says_nothing(second: Path) -> None:
    _family(second, red="5000", green="5100", blue="4900")
    assert _row(second, "invented-metal.shear_speed") is None


def test_a_family_whose_members_have_nothing_in_common_says_nothing(second: Path) -> None:
    _family(second, red="1000", green="2500", blue="4900", white="3000")
    assert _row(second, "invented-metal.shear_speed") is None


def test_a_published_value_has_no_estimate_beside_it(second: Path) -> None:
    _family(second, **MEMBERS, black="5700")
    row = _row(second, "black-metal.shear_speed")
    assert row is not None
    assert (row["rung"], row["form"]["coefficients"]["c0"]) == ("published", "5700")


def test_an_estimate_is_no_ground_for_another_nor_for_a_derivation(second: Path) -> None:
    _family(second, **MEMBERS, black="")
    rows = _line("black-metal", "poisson_ratio", "0.3", "1")
    write_document(second, "ratio", READINGS_HEADER + rows)
    records = derive_records(second)
    assert records["black-metal.shear_speed"]["rung"] == "family"
    assert "black-metal.longitudinal_speed" not in records
    inputs = {entry["id"] for entry in records["invented-metal.shear_speed"]["inputs"]}
    assert "black-metal.shear_speed" not in inputs


def _derived(text: Path, *more: str) -> dict[str, Any]:
    write_document(text, "second", READINGS_HEADER + "".join(more))
    row = _row(text, "invented-metal.shear_speed")
    assert row is not None
    return row


RATIO = _line("invented-metal", "poisson_ratio", "0.30", "1")
YOUNG = _line("invented-metal", "youngs_modulus", "200", "GPa")
SHEAR = _line("invented-metal", "shear_modulus", "76.9", "GPa")


def test_a_shear_speed_follows_from_the_other_speed_and_poissons_ratio(second: Path) -> None:
    row = _derived(second, RATIO)
    assert (row["rung"], row["rule"]) == ("derived", "isotropic-moduli/2")
    # cS/cL = sqrt((1 - 2 nu)/(2 (1 - nu))) = sqrt(0.4/1.4) for nu = 0.30.
    assert float(row["form"]["coefficients"]["c0"]) == pytest.approx(5000.0 * math.sqrt(0.4 / 1.4), rel=1e-3)
    assert "static_modulus_allowance" not in row["working"]


def test_the_way_with_the_least_uncertainty_is_taken_and_the_others_are_told(second: Path) -> None:
    row = _derived(second, RATIO, YOUNG, SHEAR)
    taken = float(row["uncertainty"]["number"])
    others = row["working"]["other_ways"].split("; ")
    assert len(others) == len(WAYS["shear_speed"]) - 1
    assert all(float(words.split("± ")[1].split()[0]) >= taken for words in others)


def test_a_plastic_gets_no_speed_from_static_moduli(second: Path) -> None:
    rows = [
        _line("invented-plastic", "youngs_modulus", "3", "GPa"),
        _line("invented-plastic", "poisson_ratio", "0.35", "1"),
        _line("invented-plastic", "density", "1400", "kg/m3"),
    ]
    write_document(second, "second", READINGS_HEADER + "".join(rows))
    assert _row(second, "invented-plastic.shear_speed") is None


def test_no_speed_follows_where_poissons_ratio_may_be_one_half(second: Path) -> None:
    rows = [
        _line("invented-plastic", "longitudinal_speed", "1500", "m/s"),
        _line("invented-plastic", "poisson_ratio", "0.48", "1"),
    ]
    write_document(second, "second", READINGS_HEADER + "".join(rows))
    assert _row(second, "invented-plastic.shear_speed") is None
