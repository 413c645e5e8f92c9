"""Planted conflicts in an invented ledger: each is found by a general question, and none enters a recommended value."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from refdb.data import current
from refdb.database import Database
from refdb.lookup import ReleaseStore
from refdb.release import build, cut_release
from refdb.values.reader import Reader
from tests.invented import READINGS_HEADER, follow_second_rule, write_document

if TYPE_CHECKING:
    from refdb.evidence.documents import SuspicionDocument


DAY = datetime.date(2026, 1, 2)
METAL = "invented-metal"
UNITS = {
    "longitudinal_speed": "m/s",
    "shear_speed": "m/s",
    "density": "kg/m3",
    "youngs_modulus": "GPa",
    "shear_modulus": "GPa",
    "poisson_ratio": "1",
}
SOUND = {"longitudinal_speed": "5960", "shear_speed": "3235", "density": "7870"}
"""With Young's modulus 212.7 GPa and Poisson's ratio 0.2912."""

Audited = Callable[..., list[dict[str, Any]]]


class Planted:
    """A ledger with three sound documents about one metal, and what is planted beside them."""

    def __init__(self, text: Path, compiled: Path) -> None:
        self._text, self._compiled = text, compiled
        self._numbers: dict[str, int] = {}
        follow_second_rule(text)
        (text / "sources" / "documents" / "read" / "first-article" / "readings.csv").write_text(READINGS_HEADER)
        self.say("sound-1", **SOUND)
        self.say("sound-2", longitudinal_speed="5950", shear_speed="3230", density="7860", youngs_modulus="212")
        self.say("sound-3", longitudinal_speed="5970", shear_speed="3240", density="7880", youngs_modulus="213")

    def say(self, document: str, /, **values: str) -> list[str]:
        """One row of a document; a value may carry its own unit. The ids of the readings are returned."""
        ids, rows = [], []
        for property_id, printed in values.items():
            number, _, unit = printed.partition(" ")
            self._numbers[property_id] = self._numbers.get(property_id, 0) + 1
            ids.append(f"{METAL}.{property_id}.{self._numbers[property_id]:02}")
            rows.append(f"{ids[-1]},{METAL},{property_id},{number},,,{unit or UNITS[property_id]},20 degC,row 1,,\n")
        write_document(self._text, document, READINGS_HEADER + "".join(rows))
        return ids

    def opened(self) -> Database:
        """A release of it."""
        cut_release(self._text, "2026r1", "A trial.", DAY)
        build(self._text, self._compiled)
        return Database(Reader(ReleaseStore(current(self._compiled).store)))


@pytest.fixture
def planted(invented_text: Path, tmp_path: Path) -> Planted:
    """The ledger before anything is planted."""
    return Planted(invented_text, tmp_path / "compiled")


def _found(database: Database, code: str) -> list[SuspicionDocument]:
    return [entry for entry in database.audit("solids")["suspicions"] if entry["code"] == code]


def _used(database: Database) -> set[str]:
    return {
        entry["id"] for row in database.store.of_kind("recommended", database.release()) for entry in row.body["inputs"]
    }


def test_sound_documents_are_not_suspicious(planted: Planted) -> None:
    assert planted.opened().audit("solids")["suspicions"] == []


@pytest.mark.parametrize(
    ("code", "values", "words"),
    [
        ("inconsistent-pair", {"longitudinal_speed": "4000", "shear_speed": "3900"}, "give Poisson's ratio"),
        ("inconsistent-pair", {"longitudinal_speed": "5000", "shear_speed": "2700"}, "give Young's modulus"),
        ("far-from-peers", {"longitudinal_speed": "6900"}, "is +15.8% from 5960, the median of 3 independent"),
        ("decimal-slip", {"density": "787"}, "is 0.1 times 7870"),
        ("decimal-slip", {"youngs_modulus": "2.12"}, "is 0.01 times"),
        ("unit-slip", {"density": "491"}, "would be right as 491 lb/ft3"),
        ("unit-slip", {"youngs_modulus": "30.8"}, "would be right as 30.8"),
        ("thin-rod", {"longitudinal_speed": "5195"}, "is the speed in a thin rod, sqrt(E/rho) = 5196 m/s"),
    ],
)
def test_a_planted_conflict_is_found_and_enters_no_value(
    planted: Planted, code: str, values: dict[str, str], words: str
) -> None:
    wrong = planted.say("planted", **values)
    database = planted.opened()
    texts = [entry["text"] for entry in _found(database, code)]
    assert any(words in text for text in texts), database.audit("solids")["suspicions"]
    assert not set(wrong) & _used(database)


def test_moduli_of_one_row_that_do_not_belong_together_are_found_and_enter_no_value(planted: Planted) -> None:
    planted.say("moduli", shear_modulus="82.4", poisson_ratio="0.29")
    *_, shear, _nu = planted.say("planted", youngs_modulus="213", shear_modulus="20", poisson_ratio="0.29")
    database = planted.opened()
    (entry,) = _found(database, "inconsistent-moduli")
    assert "E 213 GPa, G 20 GPa and nu 0.29 disagree by +" in entry["text"]
    assert shear not in _used(database)


def test_a_wrong_figure_that_travels_is_told_with_all_its_documents(planted: Planted) -> None:
    wrong = [*planted.say("planted-1", density="787"), *planted.say("planted-2", density="0.787 g/cm3")]
    database = planted.opened()
    (entry,) = _found(database, "travelling-figure")
    assert entry["sources"] == ["planted-1", "planted-2"]
    assert {reading["id"] for reading in entry["readings"]} == set(wrong)
    assert not set(wrong) & _used(database)


def test_a_foam_among_solids_is_found_by_its_family(planted: Planted, invented_text: Path) -> None:
    subjects = invented_text / "shared" / "subjects" / "invented.toml"
    others = {"a": "1100", "b": "1200", "c": "1400", "d": "950"}
    blocks = [
        f'\n[plastic-{name}]\nname = "{name}"\nsubject_kind = "material"\nfamily = "thermoplastic"\n' for name in others
    ]
    subjects.write_text(subjects.read_text() + "".join(blocks))
    rows = "".join(
        f"plastic-{name}.density.01,plastic-{name},density,{value},,,kg/m3,20 degC,row,,\n"
        for name, value in others.items()
    )
    foam = "invented-plastic.density.01,invented-plastic,density,66,,,kg/m3,20 degC,row,,\n"
    write_document(invented_text, "plastics", READINGS_HEADER + rows + foam)
    database = planted.opened()
    (entry,) = _found(database, "far-below-family")
    assert entry["readings"][0]["id"] == "invented-plastic.density.01"
    assert "invented-plastic.density.01" not in _used(database)


def test_a_material_that_is_not_isotropic_is_asked_no_law(planted: Planted, invented_text: Path) -> None:
    subjects = invented_text / "shared" / "subjects" / "invented.toml"
    text = subjects.read_text().replace('name = "Invented metal"', 'name = "Invented metal"\nisotropic = false')
    subjects.write_text(text)
    planted.say("planted", longitudinal_speed="4000", shear_speed="3900")
    assert _found(planted.opened(), "inconsistent-pair") == []
