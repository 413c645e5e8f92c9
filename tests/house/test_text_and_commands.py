"""House values at the command line, and in the text format of sources/ and back."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from refdb.database import Database
from refdb.house import House
from refdb.ledger import load_ledger
from refdb.store.maintain import back_up_house, restore_house, upgrade_house
from refdb.vocabulary import vocabulary
from tests.conftest import CommandLine
from tests.house.conftest import ANN, BOB, ENTRY
from tests.invented import write_invented_text

OPTIONS = [
    text
    for name, value in ENTRY.items()
    if name not in {"subject", "property"}
    for text in (f"--{name.replace('_', '-')}", value)
]


@pytest.fixture
def run(command: CommandLine, sqlite_house: House) -> Callable[..., Any]:
    """Runs `refdb house ...` on a store of its own; what it printed as JSON, or its text."""

    def invoke(*arguments: str, code: int = 0) -> Any:
        printed = command("house", *arguments, "--url", sqlite_house.store.url)
        assert printed.code == code, printed.err
        return json.loads(printed.out) if "--json" in arguments else printed.out + printed.err

    return invoke


def test_a_value_is_entered_reviewed_asked_and_withdrawn(
    run: Callable[..., Any], command: CommandLine, sqlite_house: House, tmp_path: Path
) -> None:
    report = tmp_path / "report 12.pdf"
    report.write_bytes(b"an invented report")
    about = ("carbon steel", "longitudinal_speed")
    made = run("add", *about, *OPTIONS, "--attach", str(report), "--by", "Ann", "--json")
    digest = hashlib.sha256(b"an invented report").hexdigest()
    assert made["entry"]["attachments"] == [{"name": "report 12.pdf", "sha256": digest}]
    assert "another person must review" in run("review", made["id"], "--version", "1", "--by", "ann", code=2)
    assert "version 2, reviewed, by Bob" in run("review", made["id"], "--version", "1", "--by", "Bob")
    asked = ["value", *about, "--layers", "house,release", "--house-url", sqlite_house.store.url]
    printed = command(*asked)
    assert "5911.0 ± 6.0 m/s" in printed.out
    assert "entered by Ann, reviewed by Bob; release" in printed.out
    assert json.loads(command(*asked, "--json").out)["values"][0]["layer"] == "house"
    changed = run("change", made["id"], "--version", "2", "--value", "5913", "--by", "Ann", "--json")
    assert changed["entry"] == made["entry"] | {"value": "5913"}
    assert "stands at version 3" in run("withdraw", made["id"], "--version", "2", "--reason", "x", code=2)
    run("withdraw", made["id"], "--version", "3", "--reason", "wrong specimen", "--by", "Bob")
    assert [item["status"] for item in run("history", made["id"], "--json")["items"]] == [
        "draft",
        "reviewed",
        "draft",
        "withdrawn",
    ]
    assert "wrong specimen" in run("history", made["id"])
    assert run("list", "--status", "reviewed", "--json") == {"items": []}
    assert [line["action"] for line in run("writes", "--json")["items"]] == ["add", "review", "change", "withdraw"]
    assert "Everything fits." in run("verify")


def test_keys_are_made_listed_expired_and_revoked(run: Callable[..., Any]) -> None:
    first = run("key", "add", "Ann", "--role", "editor", "--expires", "2099-12-31", "--json")
    assert first["key"].startswith("refdb_")
    assert (first["state"], first["expires_at"]) == ("valid", "2099-12-31T23:59:59.999Z")
    second = run("key", "add", "Bob", "--role", "reviewer", "--json")
    assert "until 2026-01-01T00:00:00.000Z" in run("key", "expire", second["id"], "--on", "2026-01-01T01:00:00+01:00")
    run("key", "revoke", first["id"])
    listed = run("key", "list", "--json")["items"]
    assert [(key["person"], key["role"], key["state"]) for key in listed] == [
        ("Ann", "editor", "revoked"),
        ("Bob", "reviewer", "expired"),
    ]
    assert first["key"] not in run("key", "list")
    assert "there is no role 'king'" in run("key", "add", "Cy", "--role", "king", code=2)
    assert "no UTC date" in run("key", "add", "Cy", "--role", "reader", "--expires", "soon", code=2)
    assert "there is no key" in run("key", "revoke", "nothing", code=2)
    assert "person" in run("key", "add", " ", "--role", "reader", code=2)


def _filled(house: House, database: Database) -> None:
    """Three values in force, one of them against temperature, and a draft."""
    for changes in (
        {"note": 'the first, with "quotes", commas and 水'},
        {"property": "shear_speed", "value": None, "temperature": None, "points": "15 degC: 3201; 25 degC: 3199.5"}
        | {"valid_temperature": None},
        {"subject": "water", "property": "density", "value": "998.3", "unit": "kg/m3", "uncertainty": "0.1"}
        | {"valid_temperature": None, "pressure": "1 atm"},
    ):
        made = house.add(ENTRY | changes, ANN, database)
        house.review(made.id, 1, BOB)
    house.add(ENTRY | {"property": "density", "value": "7850", "unit": "kg/m3", "uncertainty": "9"}, ANN, database)


def test_values_in_force_become_a_document_that_the_ledger_reads(
    sqlite_house: House, run: Callable[..., Any], database: Database, tmp_path: Path
) -> None:
    _filled(sqlite_house, database)
    write_invented_text(tmp_path / "text")
    subjects = tmp_path / "text" / "shared" / "subjects" / "more.toml"
    known = {row["id"]: row for kind in ("material", "liquid") for row in database.subjects(kind)}
    subjects.write_text(
        "".join(
            f'[{name}]\nname = "{known[name]["name"]}"\nsubject_kind = "{known[name]["kind"]}"\nfamily = "{family}"\n'
            for name, family in (("carbon-steel", "carbon-steel"), ("water", "water"))
        )
    )
    to = tmp_path / "text" / "sources" / "documents" / "read" / "invented-house"
    told = ("--title", "House values", "--organisation", "Invented Ltd", "--rights", "CC0-1.0")
    assert "3 reading(s)" in run("export", "--to", str(to), *told)
    ledger = load_ledger(tmp_path / "text", vocabulary())
    readings = [record for record in ledger.records.values() if getattr(record, "source", None) == "invented-house"]
    assert {(r.kind, r.subject, r.property) for r in readings} == {  # type: ignore[union-attr]
        ("scalar", "carbon-steel", "longitudinal_speed"),
        ("table", "carbon-steel", "shear_speed"),
        ("scalar", "water", "density"),
    }
    source = ledger.records["invented-house"]
    assert (source.transcribed_by, source.checked_by) == (ANN.person, BOB.person)  # type: ignore[union-attr]
    taken = {reading["row"]["id"] for reading in database.readings("carbon-steel")}
    assert taken.isdisjoint(reading.id for reading in readings)
    assert "is there already" in run("export", "--to", str(to), *told, code=2)


def test_what_was_exported_can_be_imported_and_says_the_same(
    sqlite_house: House, new_house: Any, command: CommandLine, database: Database, tmp_path: Path
) -> None:
    _filled(sqlite_house, database)
    to = tmp_path / "exported"
    told = ("--title", "House values", "--organisation", "Invented Ltd", "--rights", "unknown")
    assert command("house", "export", "--to", str(to), *told, "--url", sqlite_house.store.url).code == 0
    url = new_house("sqlite")
    upgrade_house(url)
    printed = command("house", "import", str(to), "--url", url, "--by", "Cy")
    assert printed.code == 0, printed.err
    other = House(url)
    before = {one.version.subject + one.version.property_id: one.version for one in sqlite_house.store.in_force()}
    for version in other.store.values():
        assert (version.status, version.entered_by) == ("draft", "Cy")
        assert version.body == before[version.subject + version.property_id].body
    assert len(other.store.values()) == 3


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("x.01,carbon-steel,longitudinal_speed,59x1,m/s,20 degC,p. 3,6,standard", "readings.csv:3: value: '59x1'"),
        ("x.01,carbon-steel,longitudinal_speed,5911,m/s,20 degC,p. 3,,", "readings.csv:3: uncertainty: is missing"),
        ("x.01,nothing,longitudinal_speed,5911,m/s,20 degC,p. 3,6,standard", "readings.csv:3: subject: "),
    ],
)
def test_an_import_with_a_fault_names_its_line_and_enters_nothing(
    run: Callable[..., Any], sqlite_house: House, tmp_path: Path, line: str, words: str
) -> None:
    folder = tmp_path / "document"
    folder.mkdir()
    (folder / "source.toml").write_text('[source]\ntitle = "Invented"\n')
    header = "id,subject,property,value,unit,temperature,locator,uncertainty,uncertainty_kind"
    sound = "x.02,carbon-steel,density,7850,kg/m3,20 degC,p. 4,9,standard"
    (folder / "readings.csv").write_text(f"{header}\n{sound}\n{line}\n")
    assert words in run("import", str(folder), code=2)
    assert sqlite_house.store.values() == []


@pytest.mark.parametrize("engines", [("sqlite", "postgresql"), ("postgresql", "sqlite")])
def test_a_back_up_holds_values_keys_and_log_and_is_restored_on_either_engine(
    new_house: Any, database: Database, tmp_path: Path, engines: tuple[str, str]
) -> None:
    from refdb.store.keys import key_of, make_key

    urls = [new_house(engine) for engine in engines]
    upgrade_house(urls[0])
    house = House(urls[0])
    _filled(house, database)
    _, secret = make_key(house.store, "Ann", "editor", None, ANN)
    written = back_up_house(urls[0], tmp_path / "backup")
    restore_house(written.path, urls[1])
    restored = House(urls[1])
    assert restored.store.values() == house.store.values()
    assert restored.store.writes() == house.store.writes()
    assert restored.store.verify() == []
    assert key_of(restored.store, secret, "editor").person == "Ann"
    # And it can go on: the next line of the log gets a number of its own.
    restored.add(ENTRY, ANN, database)
    assert len(restored.store.writes()) == len(house.store.writes()) + 1
