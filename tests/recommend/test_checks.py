"""Three laws against invented tables: a wrong speed or density is found by numbers, and never enters a value."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from refdb.forms.elasticity import bulk_speed_of_speeds, poisson_ratio_of_speeds, youngs_modulus_of_speeds
from refdb.release import derive_records
from tests.invented import READINGS_HEADER, follow_second_rule, write_document

CL, CS = "longitudinal_speed", "shear_speed"
SOUND = {CL: "5960", CS: "3235"}
"""Poisson's ratio 0.291, bulk speed 4636 m/s, Young's modulus 213 GPa at 7870 kg/m3."""

UNITS = {
    CL: "m/s",
    CS: "m/s",
    "bulk_sound_speed": "m/s",
    "density": "kg/m3",
    "youngs_modulus": "GPa",
    "shear_modulus": "GPa",
    "poisson_ratio": "1",
}


class Ledger:
    """Writes invented documents about one metal, one row of a table each."""

    def __init__(self, text: Path) -> None:
        self.text = text
        self.numbers: dict[str, int] = {}
        readings = text / "sources" / "documents" / "read" / "first-article" / "readings.csv"
        readings.write_text(READINGS_HEADER)
        vocabulary = text / "shared" / "vocabulary" / "properties.toml"
        if "[bulk_sound_speed]" not in vocabulary.read_text():
            vocabulary.write_text(vocabulary.read_text() + BULK_SOUND_SPEED)

    def says(self, document: str, subject: str = "invented-metal", **values: str) -> list[str]:
        """Let a document print values in one row; the ids of the readings are returned."""
        ids, rows = [], []
        for property_id, value in values.items():
            name = f"{subject}.{property_id}"
            self.numbers[name] = self.numbers.get(name, 0) + 1
            ids.append(f"{name}.{self.numbers[name]:02}")
            rows.append(f"{ids[-1]},{subject},{property_id},{value},,,{UNITS[property_id]},20 degC,row 1,,\n")
        write_document(self.text, document, READINGS_HEADER + "".join(rows))
        return ids

    def left_out(self) -> dict[str, str]:
        """Every reading left out of its row, with the reason."""
        rows = self.rows().values()
        return {entry["id"]: entry["reason"] for row in rows for entry in row.get("left_out", [])}

    def rows(self) -> dict[str, dict[str, Any]]:
        """What is recommended."""
        return {row_id: row for row_id, row in derive_records(self.text).items() if row["kind"] == "recommended"}


BULK_SOUND_SPEED = """
[bulk_sound_speed]
name = "Bulk sound speed"
symbol = "C0"
dimension = "speed"
si = "m/s"
us = "ft/s"
applies_to = ["material"]
definition = "Intercept of the shock speed against the particle speed."
asked_of = []
"""


@pytest.fixture
def ledger(invented_text: Path) -> Ledger:
    """An empty ledger about an invented metal, under consensus/2."""
    follow_second_rule(invented_text)
    return Ledger(invented_text)


def _wrong_and_right(ledger: Ledger, wrong: list[str], right: list[str]) -> dict[str, str]:
    left_out = ledger.left_out()
    assert set(wrong) <= set(left_out), left_out
    assert not set(right) & set(left_out), left_out
    return left_out


def test_a_pair_outside_its_family_is_left_out_with_the_ratio_that_says_so(ledger: Ledger) -> None:
    right = ledger.says("sound", **SOUND)
    wrong = ledger.says("unsound", **{CL: "3530", CS: "2230"})
    reasons = _wrong_and_right(ledger, wrong, right)
    assert "give Poisson's ratio 0.168, outside 0.20 to 0.40" in reasons[wrong[0]]
    assert ledger.rows()["invented-metal.longitudinal_speed"]["form"]["coefficients"]["c0"] == "5960"


def test_the_half_of_a_wrong_pair_that_an_independent_document_prints_too_stays(ledger: Ledger) -> None:
    right = ledger.says("sound", **SOUND)
    longitudinal, shear = ledger.says("half-right", **{CL: "8600", CS: "3240"})
    _wrong_and_right(ledger, [longitudinal], [*right, shear])


def test_two_documents_with_the_same_wrong_pair_do_not_vouch_for_each_other(ledger: Ledger) -> None:
    wrong = [*ledger.says("one", **{CL: "3530", CS: "2230"}), *ledger.says("two", **{CL: "3530", CS: "2230"})]
    _wrong_and_right(ledger, wrong, ledger.says("sound", **SOUND))


def test_shock_waves_decide_between_two_pairs(ledger: Ledger) -> None:
    right = ledger.says("sound", **SOUND)
    wrong = ledger.says("unsound", **{CL: "5000", CS: "2700"})
    assert 0.2 < poisson_ratio_of_speeds(5000.0, 2700.0) < 0.4
    assert not set(wrong) & set(ledger.left_out())
    ledger.says("shock", bulk_sound_speed="4600")
    reasons = _wrong_and_right(ledger, wrong, right)
    off = bulk_speed_of_speeds(5000.0, 2700.0) / 4600.0 - 1.0
    assert f"{off:+.1%} from the 4600 m/s of shock waves" in reasons[wrong[0]]


def test_two_handbooks_modulus_and_density_decide_between_two_pairs(ledger: Ledger) -> None:
    right = ledger.says("sound", **SOUND)
    wrong = ledger.says("unsound", **{CL: "5300", CS: "2800"})
    ledger.says("handbook-one", youngs_modulus="210", density="7870")
    assert not set(wrong) & set(ledger.left_out()), "one handbook may be wrong itself"
    ledger.says("handbook-two", youngs_modulus="208", density="7850")
    reasons = _wrong_and_right(ledger, wrong, right)
    modulus = youngs_modulus_of_speeds(5300.0, 2800.0, 7860.0) / 1e9
    assert f"give Young's modulus {modulus:.1f} GPa at 7860 kg/m3" in reasons[wrong[0]]


def test_of_two_densities_the_one_that_modulus_and_speeds_speak_against_is_left_out(ledger: Ledger) -> None:
    ledger.says("sound", **SOUND)
    (right,) = ledger.says("right", density="7870")
    (wrong,) = ledger.says("wrong", density="6300")
    assert not ledger.left_out()
    ledger.says("handbook-one", youngs_modulus="212")
    ledger.says("handbook-two", youngs_modulus="208")
    reasons = _wrong_and_right(ledger, [wrong], [right])
    assert "6300 kg/m3 is -" in reasons[wrong]
    assert f"which {right} fits" in reasons[wrong]


def test_what_is_not_isotropic_is_asked_nothing(ledger: Ledger) -> None:
    subjects = ledger.text / "shared" / "subjects" / "invented.toml"
    text = subjects.read_text().replace('name = "Invented metal"', 'name = "Invented metal"\nisotropic = false')
    subjects.write_text(text)
    ledger.says("unsound", **{CL: "3530", CS: "2230"})
    assert not ledger.left_out()
    assert ledger.rows()["invented-metal.longitudinal_speed"]["form"]["coefficients"]["c0"] == "3530"


def test_shock_waves_are_no_witness_about_a_plastic(ledger: Ledger) -> None:
    ledger.says("plastic", subject="invented-plastic", **{CL: "2600", CS: "1200"})
    ledger.says("shock", subject="invented-plastic", bulk_sound_speed="3000")
    assert not ledger.left_out()


def test_a_doubted_reading_is_no_witness(ledger: Ledger) -> None:
    right = ledger.says("sound", **SOUND)
    rows = "invented-metal.bulk_sound_speed.01,invented-metal,bulk_sound_speed,3000,,,m/s,20 degC,row 1,suspect,why\n"
    write_document(ledger.text, "shock", READINGS_HEADER + rows)
    _wrong_and_right(ledger, [], right)


def _family(ledger: Ledger, *densities: str) -> None:
    """Other members of the metal's family, each with a density in kg/m3."""
    subjects = ledger.text / "shared" / "subjects" / "invented.toml"
    names = [f"member-{place}" for place in range(len(densities))]
    blocks = [f'\n[{name}]\nname = "{name}"\nsubject_kind = "material"\nfamily = "other-metal"\n' for name in names]
    subjects.write_text(subjects.read_text() + "".join(blocks))
    for name, density in zip(names, densities, strict=True):
        ledger.says(f"about-{name}", subject=name, density=density)


@pytest.mark.parametrize(
    ("slip", "why"), [("787", "ten times off"), ("7.87", "grams per cubic centimetre"), ("66", "a foam")]
)
def test_a_reading_far_outside_its_family_is_left_out_even_beside_a_single_other(
    ledger: Ledger, slip: str, why: str
) -> None:
    _family(ledger, "7000", "7500", "8000", "8900")
    (right,) = ledger.says("right", density="7870")
    (wrong,) = ledger.says("wrong", density=slip)
    reasons = _wrong_and_right(ledger, [wrong], [right])
    assert reasons[wrong].startswith(f"outside its family: {slip} kg/m3"), why
    assert reasons[wrong].endswith("have 7000 to 8900")


def test_a_material_that_is_the_only_one_of_its_kind_stays_though_its_family_has_nothing_like_it(
    ledger: Ledger,
) -> None:
    _family(ledger, "2500", "3200", "3700", "5700")
    ledger.says("one", density="14900")
    ledger.says("two", density="15020")
    assert not ledger.left_out()
    assert "invented-metal.density" in ledger.rows()


def test_a_lone_reading_that_is_many_times_off_gives_no_value(ledger: Ledger) -> None:
    _family(ledger, "7000", "7500", "8000", "8900")
    ledger.says("wrong", density="66")
    assert "invented-metal.density" not in ledger.rows()


def test_a_family_of_few_says_nothing_about_what_is_outside(ledger: Ledger) -> None:
    _family(ledger, "7000", "7500", "8000")
    ledger.says("right", density="7870")
    ledger.says("wrong", density="787")
    assert not ledger.left_out()


def test_moduli_of_one_row_that_do_not_belong_together_are_left_out_but_for_what_others_print(ledger: Ledger) -> None:
    young, shear, nu = ledger.says("wrong", youngs_modulus="329", shear_modulus="20", poisson_ratio="0.31")
    right = ledger.says("right", youngs_modulus="329", poisson_ratio="0.30")
    ledger.says("other", shear_modulus="126")
    reasons = _wrong_and_right(ledger, [shear], [young, nu, *right])
    assert "E 329, G 20 and nu 0.31 of one row disagree by +" in reasons[shear]
