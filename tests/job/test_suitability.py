"""The remarks on the place: every item is looked at, with a reason and a source, and says what is wrong."""

from __future__ import annotations

from typing import Any

import pytest

from refdb.database import Database
from refdb.job import work_step
from tests.job.conftest import Changed


def _remarks(database: Database, job: dict[str, Any]) -> dict[str, dict[str, str]]:
    return {item["about"]: item for item in work_step("suitability", job, database)["suitability"]}


ALWAYS = {
    *("full pipe", "gas", "solids", "pulsation", "straight length", "straight length downstream", "planes", "passes"),
    *("access", "seam", "where around", "cavitation", "couplant", "room for the sensors"),
}


def test_every_item_is_looked_at_with_reason_and_source(database: Database, changed: Changed) -> None:
    told = _remarks(database, changed())
    assert set(told) == ALWAYS
    assert all(item["text"] and item["source"] for item in told.values())


def test_what_is_not_known_is_asked_for(database: Database, changed: Changed) -> None:
    told = _remarks(database, changed(access={"upstream": None}))
    unknown = {about for about, item in told.items() if item["verdict"] == "unknown"}
    assert {"full pipe", "gas", "solids", "pulsation", "straight length", "seam", "couplant"} <= unknown


CASES: list[tuple[str, str, dict[str, Any]]] = [
    ("full pipe", "bad", {"access": {"full": "no"}}),
    ("full pipe", "mind", {"access": {"orientation": "downward"}}),
    ("full pipe", "good", {"access": {"orientation": "upward"}}),
    ("gas", "mind", {"liquid": {"gas_bubbles": "yes"}}),
    ("solids", "mind", {"liquid": {"solids": "yes"}}),
    ("pulsation", "mind", {"access": {"pulsation": "yes"}}),
    ("straight length", "bad", {"access": {"upstream": 3}}),
    ("straight length downstream", "mind", {"access": {"downstream": 2}}),
    ("straight length downstream", "good", {"access": {"downstream": 8}}),
    ("planes", "mind", {"access": {"disturbance": "bend", "upstream": 12}}),
    ("planes", "mind", {"access": {"disturbance": "two bends out of plane", "upstream": 40}}),
    ("planes", "good", {"access": {"disturbance": "none"}}),
    ("passes", "good", {"sensors": {"passes": 2}}),
    ("passes", "mind", {"sensors": {"passes": 3}}),
    ("access", "bad", {"sensors": {"passes": 1}, "access": {"opposite_side": "no"}}),
    ("access", "unknown", {"sensors": {"passes": 1}}),
    ("access", "good", {"sensors": {"passes": 4}, "access": {"opposite_side": "no"}}),
    ("seam", "mind", {"pipe": {"seam": "spiral"}}),
    ("where around", "good", {"access": {"orientation": "upward"}}),
    ("where around", "mind", {"access": {"orientation": "horizontal"}}),
    ("cavitation", "good", {}),
    ("cavitation", "mind", {"liquid": {"pressure": "40 kPa"}}),
    ("couplant", "good", {"sensors": {"couplant_greatest_temperature": "60 degC"}}),
    ("couplant", "bad", {"sensors": {"couplant_greatest_temperature": "40 degC"}}),
    ("lining", "bad", {"pipe": {"lining": {"thickness": "4 mm", "shear_speed": "1500 m/s", "bonded": "no"}}}),
    ("deposits", "mind", {"pipe": {"deposits": "1 mm"}}),
    ("age", "mind", {"pipe": {"age": 40}}),
]


@pytest.mark.parametrize(("about", "verdict", "sections"), CASES)
def test_a_place_is_judged_by_what_was_told_of_it(
    database: Database, changed: Changed, about: str, verdict: str, sections: dict[str, Any]
) -> None:
    assert _remarks(database, changed(**sections))[about]["verdict"] == verdict


def test_the_margin_to_cavitation_is_that_to_the_vapour_pressure(database: Database, changed: Changed) -> None:
    """Water at 45 degC boils at 9.6 kPa (steam tables); 40 kPa leave 30."""
    text = _remarks(database, changed(liquid={"pressure": "40 kPa"}))["cavitation"]["text"]
    assert text.startswith("30 kPa above the vapour pressure")
