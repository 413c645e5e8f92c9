"""The life of a house value: entered by one person, reviewed by another, changed, withdrawn, and never deleted."""

from __future__ import annotations

import copy
import sqlite3
from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy import text

from refdb.database import Database
from refdb.evidence.check import check_answers
from refdb.house import House
from refdb.problems import (
    AmbiguousName,
    BadParameter,
    Changed,
    Conflict,
    HouseUnavailable,
    NotAllowed,
    OutsideRange,
    Problem,
    UnknownName,
)
from refdb.store.values import Version, Writer
from tests.house.conftest import ANN, BOB, ENTRY
from tests.shapes import untyped

ASKED: dict[str, Any] = {"subject": "carbon-steel", "property_id": "longitudinal_speed"}


def _reviewed(house: House, database: Database, **changes: Any) -> Version:
    made = house.add(ENTRY | changes, ANN, database)
    return house.review(made.id, 1, BOB)


def _asked(house: House, database: Database, **state: Any) -> Any:
    return untyped(database.beside(house).value(**ASKED, layers="house,release", **state).document())


def test_a_draft_is_not_answered_and_a_reviewed_value_is(house: House, database: Database) -> None:
    made = house.add(ENTRY, ANN, database)
    assert _asked(house, database)["layer"] == "release"
    house.review(made.id, 1, BOB)
    answer = _asked(house, database)
    assert answer["layer"] == "house"
    assert (answer["value"]["magnitude"], answer["standard_uncertainty"]["magnitude"]) == (5911.0, 6.0)
    assert answer["house"]["entered_by"] == [ANN.person]
    assert answer["house"]["reviewed_by"] == BOB.person
    assert answer["row"] == {"id": f"house.{made.id}", "digest": house.store.current(made.id).digest}
    assert answer["permalink"] == f"/v1/house/values/{made.id}/versions/2"


def test_an_answer_of_the_house_says_what_the_release_would_have_said(house: House, database: Database) -> None:
    _reviewed(house, database)
    answer = _asked(house, database, temperature="25 degC", unit="km/s")
    released = database.value(**ASKED, temperature="25 degC", unit="km/s").document()
    assert answer["release_says"]["answer"] == released
    assert answer["release_says"]["difference"]["unit"] == "km/s"
    assert released["value"] is not None
    expected = answer["value"]["magnitude"] - released["value"]["magnitude"]
    assert answer["release_says"]["difference"]["magnitude"] == pytest.approx(expected)


def test_without_layers_nothing_is_heard_of_house_values(house: House, database: Database) -> None:
    before = database.value(**ASKED).document()
    _reviewed(house, database)
    assert database.beside(house).value(**ASKED).document() == before


def test_outside_the_range_of_a_house_value_the_release_answers_and_says_why(house: House, database: Database) -> None:
    made = _reviewed(house, database)
    answer = _asked(house, database, temperature="35 degC")
    assert answer["layer"] == "release"
    assert made.id in answer["warnings"][0]
    assert "valid from 10 degC to 30 degC" in answer["warnings"][0]
    with pytest.raises(OutsideRange, match=made.id):
        _asked(house, database, temperature="290 degC")


def test_a_value_that_is_valid_nowhere_else_is_answered_where_it_was_found_only(
    house: House, database: Database
) -> None:
    entry = {name: text for name, text in ENTRY.items() if name != "valid_temperature"}
    house.review(house.add(entry, ANN, database).id, 1, BOB)
    assert _asked(house, database, temperature="20 degC")["layer"] == "house"
    assert _asked(house, database, temperature="68 degF")["layer"] == "house"
    assert _asked(house, database, temperature="20.1 degC")["layer"] == "release"


def test_a_value_against_temperature_follows_its_points(house: House, database: Database) -> None:
    points = {"value": None, "points": "10 degC: 5920; 20 degC: 5911; 30 degC: 5905", "temperature": None}
    _reviewed(house, database, **points)
    assert _asked(house, database, temperature="20 degC")["value"]["magnitude"] == 5911.0
    between = _asked(house, database, temperature="15 degC")["value"]["magnitude"]
    assert 5911.0 < between < 5920.0
    assert _asked(house, database, temperature="9 degC")["layer"] == "release"


@pytest.mark.parametrize(
    ("texts", "value", "doubt"),
    [
        ({"value": "19 393", "unit": "ft/s", "uncertainty": "20"}, 19393 * 0.3048, 20 * 0.3048),
        ({"value": "5.911", "unit": "mm/us", "uncertainty": "0.2", "uncertainty_unit": "%"}, 5911.0, 11.822),
        ({"unit": "m/s", "uncertainty": "12", "uncertainty_kind": "expanded"}, 5911.0, 6.0),
        ({"uncertainty": "20", "uncertainty_unit": "ft/s"}, 5911.0, 20 * 0.3048),
    ],
)
def test_units_and_coverage_are_converted_once_and_exactly(
    sqlite_house: House, database: Database, texts: dict[str, str], value: float, doubt: float
) -> None:
    _reviewed(sqlite_house, database, **texts)
    answer = _asked(sqlite_house, database)
    assert answer["value"]["magnitude"] == pytest.approx(value, rel=1e-11)
    assert answer["standard_uncertainty"]["magnitude"] == pytest.approx(doubt, rel=1e-11)


@pytest.mark.parametrize(
    ("changes", "parameter"),
    [
        ({"value": "about 5900"}, "value"),
        ({"value": "NaN"}, "value"),
        ({"value": 5911}, "value"),
        ({"value": "1e400"}, "value"),
        ({"value": "5911e300"}, "value"),
        ({"value": "1e-300"}, "value"),
        ({"value": "9" * 3_999 + "/1"}, "value"),
        ({"value": None, "points": "20 degC: 1e400; 40 degC: 5900"}, "points"),
        ({"value": None, "points": "20 degC: 5911; 1e300 degC: 5900"}, "points"),
        ({"uncertainty": "1e400"}, "uncertainty"),
        ({"uncertainty": "1e300", "uncertainty_unit": "%"}, "uncertainty"),
        ({"valid_temperature": "10 to 1e300 degC"}, "valid_temperature"),
        ({"value": None}, "value"),
        ({"points": "20 degC: 5911; 30 degC: 5900"}, "value"),
        ({"value": None, "points": "20 degC: 5911"}, "points"),
        ({"value": None, "points": "20 degC: 5911; 300 K: 5900"}, "points"),
        ({"value": None, "points": "30 degC: 5911; 20 degC: 5900"}, "points"),
        ({"unit": "kg/m3"}, "unit"),
        ({"unit": None}, "unit"),
        ({"uncertainty": None}, "uncertainty"),
        ({"uncertainty": "0"}, "uncertainty"),
        ({"uncertainty_kind": "maximum error"}, "uncertainty_kind"),
        ({"uncertainty_unit": "kg"}, "uncertainty_unit"),
        ({"temperature": None, "valid_temperature": None}, "temperature"),
        ({"temperature": "warm"}, "temperature"),
        ({"valid_temperature": "40 to 50 degC"}, "valid_temperature"),
        ({"valid_temperature": "30 to 10 degC"}, "valid_temperature"),
        ({"valid_temperature": "10 to 30 bar"}, "valid_temperature"),
        ({"salinity": "35 g/kg"}, "salinity"),
        ({"subject": "carbonised steal"}, "subject"),
        ({"property": "taste"}, "property"),
        ({"property": "dynamic_viscosity"}, "property"),
        ({"condition": "odd"}, "condition"),
        ({"basis": "guessed"}, "basis"),
        ({"locator": " "}, "locator"),
        ({"evidence": ""}, "evidence"),
        ({"colour": "blue"}, "colour"),
        ({"note": "x" * 5000}, "note"),
        ({"attachments": [{"name": "a.pdf"}]}, "attachments"),
        ({"attachments": [{"name": "a.pdf", "sha256": "F" * 64}]}, "attachments"),
        ({"attachments": "a.pdf"}, "attachments"),
    ],
)
def test_what_is_wrong_is_named_and_nothing_is_kept(
    sqlite_house: House, database: Database, changes: dict[str, Any], parameter: str
) -> None:
    with pytest.raises(Problem) as told:
        sqlite_house.add(ENTRY | changes, ANN, database)
    assert told.value.extensions.get("parameter", parameter) == parameter
    assert told.value.detail.startswith(f"{parameter}: ")
    assert "\n" not in told.value.detail
    assert sqlite_house.listed(database) == []


@pytest.mark.parametrize("reviewer", [ANN.person, "ann  EDITOR "])
def test_nobody_reviews_what_they_entered(house: House, database: Database, reviewer: str) -> None:
    made = house.add(ENTRY, ANN, database)
    with pytest.raises(NotAllowed, match="another person"):
        house.review(made.id, 1, Writer(reviewer))
    house.change(made.id, 1, ENTRY | {"value": "5912"}, BOB, database)
    for either in (ANN, BOB):
        with pytest.raises(NotAllowed):
            house.review(made.id, 2, either)
    assert house.store.current(made.id).version == 2
    assert house.review(made.id, 2, Writer("Cy")).status == "reviewed"


def test_a_reviewed_value_stays_in_force_until_its_change_is_reviewed(house: House, database: Database) -> None:
    made = _reviewed(house, database)
    house.change(made.id, 2, ENTRY | {"value": "5950"}, ANN, database, "measured again")
    assert _asked(house, database)["value"]["magnitude"] == 5911.0
    house.review(made.id, 3, BOB)
    assert _asked(house, database)["value"]["magnitude"] == 5950.0
    history = house.store.history(made.id)
    assert [version.status for version in history] == ["draft", "reviewed", "draft", "reviewed"]
    assert history[2].reason == "measured again"


def test_a_withdrawn_value_is_out_of_force_for_good_and_its_history_stays(house: House, database: Database) -> None:
    made = _reviewed(house, database)
    with pytest.raises(BadParameter, match="reason"):
        house.withdraw(made.id, 2, BOB, " ")
    house.withdraw(made.id, 2, BOB, "the coupon was another steel")
    assert _asked(house, database)["layer"] == "release"
    attempts: list[Callable[[], Version]] = [
        lambda: house.change(made.id, 3, ENTRY, ANN, database),
        lambda: house.withdraw(made.id, 3, BOB, "again"),
        lambda: house.review(made.id, 3, BOB),
    ]
    for again in attempts:
        with pytest.raises(Conflict):
            again()
    history = house.store.history(made.id)
    assert [version.status for version in history] == ["draft", "reviewed", "withdrawn"]
    assert history[-1].reason == "the coupon was another steel"


def test_a_change_of_another_version_than_the_current_one_is_refused(house: House, database: Database) -> None:
    made = house.add(ENTRY, ANN, database)
    house.change(made.id, 1, ENTRY | {"value": "5912"}, ANN, database)
    attempts: list[Callable[[], Version]] = [
        lambda: house.change(made.id, 1, ENTRY, ANN, database),
        lambda: house.review(made.id, 1, BOB),
        lambda: house.withdraw(made.id, 1, BOB, "stale"),
        lambda: house.withdraw(made.id, 7, BOB, "not there yet"),
    ]
    for stale in attempts:
        with pytest.raises(Changed, match="stands at version 2"):
            stale()
    with pytest.raises(UnknownName):
        house.change("nothing", 1, ENTRY, ANN, database)


def test_a_value_cannot_become_a_value_of_something_else(house: House, database: Database) -> None:
    made = house.add(ENTRY, ANN, database)
    with pytest.raises(Conflict, match="for anything else enter a new one"):
        house.change(made.id, 1, ENTRY | {"property": "shear_speed"}, ANN, database)


def test_two_values_in_force_never_hold_at_one_state(house: House, database: Database) -> None:
    _reviewed(house, database)
    rival = house.add(ENTRY | {"temperature": "25 degC", "valid_temperature": "25 to 40 degC"}, ANN, database)
    with pytest.raises(Conflict, match="is in force at some of the same states"):
        house.review(rival.id, 1, BOB)
    beside = house.add(ENTRY | {"temperature": "35 degC", "valid_temperature": "31 to 40 degC"}, ANN, database)
    assert house.review(beside.id, 1, BOB).status == "reviewed"
    annealed = house.add(ENTRY | {"condition": "annealed"}, ANN, database)
    assert house.review(annealed.id, 1, BOB).status == "reviewed"


def test_two_values_that_came_to_hold_at_one_state_anyway_are_not_chosen_between(
    sqlite_house: House, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("refdb.house.register._require_room", lambda *_: None)
    for _ in range(2):
        _reviewed(sqlite_house, database)
    with pytest.raises(AmbiguousName, match="withdraw all but one"):
        _asked(sqlite_house, database)


def test_the_log_tells_every_write_and_who_did_it(house: House, database: Database) -> None:
    made = _reviewed(house, database)
    house.withdraw(made.id, 2, BOB, "why")
    log = [(line["person"], line["action"], line["version"]) for line in house.store.writes(made.id)]
    assert log == [(ANN.person, "add", 1), (BOB.person, "review", 2), (BOB.person, "withdraw", 3)]


@pytest.mark.parametrize("column", ["body", "entered_by", "status", "reason", "version"])
def test_a_history_that_was_rewritten_is_found(sqlite_house: House, database: Database, column: str) -> None:
    made = _reviewed(sqlite_house, database)
    sqlite_house.change(made.id, 2, ENTRY | {"value": "5900"}, ANN, database, "because")
    assert sqlite_house.store.verify() == []
    new = {"status": "'reviewed'", "version": "9"}.get(column, f"{column} || ' '")
    file = sqlite_house.store.url.removeprefix("sqlite:///")
    with sqlite3.connect(file) as connection:
        connection.execute(f"UPDATE house_value_version SET {column} = {new} WHERE version = 3")
    assert any(made.id in fault for fault in sqlite_house.store.verify())


def test_a_version_that_was_taken_out_is_missed(sqlite_house: House, database: Database) -> None:
    made = _reviewed(sqlite_house, database)
    with sqlite3.connect(sqlite_house.store.url.removeprefix("sqlite:///")) as connection:
        connection.execute("DELETE FROM house_value_version WHERE version = 1")
    assert any(f"{made.id}, version 2: version 1 is missing" in fault for fault in sqlite_house.store.verify())


def test_a_write_that_fails_half_way_leaves_nothing(
    house: House, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = house.add(ENTRY, ANN, database)

    def fails(*_: Any) -> None:
        raise RuntimeError("the invented fault")

    monkeypatch.setattr("refdb.store.values.log", fails)
    with pytest.raises(RuntimeError):
        house.review(made.id, 1, BOB)
    with pytest.raises(RuntimeError):
        house.add(ENTRY, ANN, database)
    monkeypatch.undo()
    assert [version.version for version in house.store.history(made.id)] == [1]
    assert len(house.store.values()) == 1
    assert house.store.verify() == []


def test_a_store_that_is_not_made_or_not_upgraded_says_so(house_url: str) -> None:
    with pytest.raises(HouseUnavailable, match="is not made yet; run `refdb db upgrade`"):
        House(house_url).store.values()
    from refdb.store import upgrade
    from refdb.store.house import house_engine

    engine = house_engine(house_url)
    with engine.begin() as connection:
        upgrade(connection, "0001")
    engine.dispose()
    with pytest.raises(HouseUnavailable, match="is not up to date"):
        House(house_url).store.values()


def test_a_value_of_an_older_form_is_listed_as_it_is_stored_and_never_answered(
    house: House, database: Database
) -> None:
    with house.store.opened(writing=True) as connection:
        connection.execute(
            text(
                "INSERT INTO house_value (id, subject, property, created_at, version) "
                "VALUES ('old', 'carbon-steel', 'longitudinal_speed', '2026-01-01T00:00:00Z', 1)"
            )
        )
        connection.execute(
            text(
                "INSERT INTO house_value_version (house_value, version, status, entered_by, entered_at, body) "
                "VALUES ('old', 1, 'reviewed', 'Ann', '2026-01-01T00:00:00Z', 'as it was')"
            )
        )
    assert _asked(house, database)["layer"] == "release"
    (listed,) = house.listed(database)
    assert (listed["entry"], listed["body"], listed["digest"]) == (None, "as it was", None)
    assert house.store.verify() == []
    house.withdraw("old", 1, BOB, "entered anew")
    assert house.store.current("old").status == "withdrawn"


def test_a_saved_answer_of_the_house_is_looked_at_again_by_its_store(house: House, database: Database) -> None:
    made = _reviewed(house, database)
    saved = _asked(house, database, temperature="25 degC", unit="km/s")
    served = database.beside(house)

    def verdict(answer: Any) -> Any:
        return untyped(check_answers(served.reader, answer)[0])

    assert verdict(saved)["verdict"] == "current"
    assert check_answers(database.reader, saved)[0]["verdict"] == "not ours"
    forged = copy.deepcopy(saved)
    forged["value"]["magnitude"] = 5.95
    assert "the numbers do not fit the row" in verdict(forged)["reason"]
    forged = saved | {"row": saved["row"] | {"digest": f"sha256:{'0' * 64}"}}
    assert "the digest does not fit" in verdict(forged)["reason"]
    house.change(made.id, 2, ENTRY | {"value": "5917"}, ANN, database)
    assert verdict(saved)["verdict"] == "current"
    house.review(made.id, 3, BOB)
    superseded = verdict(saved)
    assert (superseded["verdict"], superseded["now"]["value"]["magnitude"]) == ("superseded", 5.917)
    assert superseded["effect"]["moves"]["value"] == {"magnitude": 0.006, "unit": "km/s"}
    assert superseded["effect"]["in_uncertainties"] == 1.0
    house.withdraw(made.id, 4, BOB, "wrong specimen")
    assert "withdrawn" in verdict(saved)["reason"]
