"""A second reading: what is compared with what, what is written down, and what makes it void."""

from __future__ import annotations

import datetime
import hashlib
import io
import subprocess
import tarfile
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from refdb.ledger import load_ledger
from refdb.problems import BadParameter, LedgerError, UnknownName
from refdb.records.models import Source
from refdb.release import cut_release, derive_records
from refdb.release.vocabulary import compile_vocabulary
from refdb.transcription.rereading import reread
from refdb.transcription.second_reading import document_of, keyed_again, read_keyed, write_down
from tests.invented import READINGS_HEADER, write_document

KEY = "second-article"
SPEED, DENSITY = "invented-metal.longitudinal_speed.02", "invented-metal.density.02"
FILE = b"name, speed, density\ninvented metal, 5100, 7.625\nother metal, 4000, 7.5\n"
CARRIER = """
[[carrier]]
type = "repository"
name = "invented/tubes"
commit = "{commit}"
licence = "MIT"
rights = "permissive"
files = [{{ path = "data/tubes.csv", sha256 = "{sha256}" }}]
"""


def _write(text: Path, speed: str = "5100", density: str = "7.625", carrier: str = "") -> Path:
    rows = f"{SPEED},invented-metal,longitudinal_speed,{speed},,,m/s,20 degC,row 1,,\n"
    rows += f"{DENSITY},invented-metal,density,{density},,,g/cm3,20 degC,row 1,,\n"
    folder = write_document(text, KEY, READINGS_HEADER + rows, group="programs")
    source = folder / "source.toml"
    source.write_text(source.read_text().replace("\n[defaults]", f"{carrier}\n[defaults]"))
    return folder


def _carrier(commit: str = "a" * 40, content: bytes = FILE) -> str:
    return CARRIER.format(commit=commit, sha256=hashlib.sha256(content).hexdigest())


def _load(text: Path) -> Any:
    return load_ledger(text, compile_vocabulary(text))


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """The carrier's file, by itself."""
    made = tmp_path / "tubes.csv"
    made.write_bytes(FILE)
    return made


def test_equal_numbers_are_written_down_with_who_when_and_against_what(invented_text: Path, file: Path) -> None:
    _write(invented_text, carrier=_carrier())
    ledger = _load(invented_text)
    document = document_of(ledger, invented_text, KEY)
    (found,) = reread(document, ledger, file)
    assert (found.numbers, found.different, found.missing) == (2, [], [])
    write_down(document, [found], "2026-12-01")
    source = _load(invented_text).records[KEY]
    assert isinstance(source, Source)
    assert source.checks is not None
    (check,) = source.checks
    assert (check.on, check.against, check.how, check.numbers) == ("2026-12-01", KEY, "beside its name", 2)
    assert check.by.startswith("refdb ")
    assert source.checked_by is not None
    assert source.checked_by.endswith("2 of 2 numbers")


def test_a_number_that_is_not_there_is_told_and_its_reading_is_not_written_down(
    invented_text: Path, file: Path
) -> None:
    _write(invented_text, density="7.652", carrier=_carrier())
    ledger = _load(invented_text)
    document = document_of(ledger, invented_text, KEY)
    (found,) = reread(document, ledger, file)
    assert [(one.number.reading, one.number.text) for one in found.missing] == [(DENSITY, "7.652")]
    write_down(document, [found], "2026-12-01")
    source = _load(invented_text).records[KEY]
    assert isinstance(source, Source)
    assert source.checks is not None
    assert source.checks[0].readings == [SPEED]


def test_another_file_than_the_one_that_was_seen_is_refused(invented_text: Path, file: Path) -> None:
    _write(invented_text, carrier=_carrier())
    file.write_bytes(FILE + b"\n")
    ledger = _load(invented_text)
    with pytest.raises(BadParameter, match="is another file than the one that was seen"):
        reread(document_of(ledger, invented_text, KEY), ledger, file)


def test_a_carrier_is_found_in_a_folder_a_git_directory_and_a_wheel(invented_text: Path, tmp_path: Path) -> None:
    checkout = tmp_path / "checkout"
    (checkout / "data").mkdir(parents=True)
    (checkout / "data" / "tubes.csv").write_bytes(FILE)
    git = ["git", "-C", str(checkout), "-c", "user.name=Invented", "-c", "user.email=invented@example.org"]
    for arguments in (["init", "-q"], ["add", "."], ["commit", "-q", "-m", "Invented."]):
        subprocess.run([*git, *arguments], check=True)
    commit = subprocess.run([*git, "rev-parse", "HEAD"], check=True, capture_output=True, text=True).stdout.strip()
    wheel = tmp_path / "tubes-1.0-py3-none-any.whl"
    with zipfile.ZipFile(wheel, "w") as packed:
        packed.writestr("data/tubes.csv", FILE)
    _write(invented_text, carrier=_carrier(commit))
    ledger = _load(invented_text)
    document = document_of(ledger, invented_text, KEY)
    for place in (checkout, checkout / ".git", wheel):
        (found,) = reread(document, ledger, place)
        assert found.numbers == 2, place


@pytest.mark.parametrize("name", ["tubes.csv", "all.tgz", "tubes.whl"])
def test_what_is_no_archive_is_refused(invented_text: Path, tmp_path: Path, name: str) -> None:
    place = tmp_path / name
    place.write_bytes(b"neither this nor that")
    path = "data/tubes.csv" if name.endswith(".whl") else "all.tgz!tubes.csv"
    _write(invented_text, carrier=_carrier().replace("data/tubes.csv", path))
    ledger = _load(invented_text)
    with pytest.raises(BadParameter, match=r"is no tar archive|is no wheel"):
        reread(document_of(ledger, invented_text, KEY), ledger, place)


def test_a_file_inside_an_archive_of_a_carrier_is_found(invented_text: Path, tmp_path: Path) -> None:
    archive = tmp_path / "all.tgz"
    with tarfile.open(archive, "w:gz") as packed:
        member = tarfile.TarInfo("./tubes.csv")
        member.size = len(FILE)
        packed.addfile(member, io.BytesIO(FILE))
    _write(invented_text, carrier=_carrier().replace("data/tubes.csv", "all.tgz!tubes.csv"))
    ledger = _load(invented_text)
    (found,) = reread(document_of(ledger, invented_text, KEY), ledger, archive)
    assert found.numbers == 2


def test_without_a_pinned_carrier_the_way_out_is_told(invented_text: Path, file: Path) -> None:
    _write(invented_text)
    ledger = _load(invented_text)
    with pytest.raises(BadParameter, match="have a second person key the print: --by NAME"):
        reread(document_of(ledger, invented_text, KEY), ledger, file)


def test_what_a_second_person_keys_is_compared_as_a_number(invented_text: Path) -> None:
    _write(invented_text)
    document = document_of(_load(invented_text), invented_text, KEY)
    found = keyed_again(document, "B. Other", {(SPEED, "number"): "5 100", (DENSITY, "number"): "7.65"})
    assert [row.id for row in found.equal] == [SPEED]
    assert [(one.number.text, one.found) for one in found.different] == [("7.625", "7.65")]


@pytest.mark.parametrize("name", ["tests", " Tests ", ""])
def test_whoever_transcribed_is_no_second_reader(invented_text: Path, name: str) -> None:
    _write(invented_text)
    document = document_of(_load(invented_text), invented_text, KEY)
    with pytest.raises(BadParameter, match="a second reading needs another person"):
        keyed_again(document, name, {})


def test_a_check_is_void_once_a_number_changes_and_stays_when_a_flag_is_added(invented_text: Path) -> None:
    folder = _write(invented_text)
    document = document_of(_load(invented_text), invented_text, KEY)
    numbers = {(SPEED, "number"): "5100", (DENSITY, "number"): "7.625"}
    write_down(document, [keyed_again(document, "B. Other", numbers)], "2026-12-01")
    readings = folder / "readings.csv"
    readings.write_text(readings.read_text().replace("20 degC,row 1,,\n", "20 degC,row 1,note,as printed\n"))
    assert _load(invented_text).records[KEY].checked_by == "B. Other on 2026-12-01 against the print: 2 of 2 numbers"
    readings.write_text(readings.read_text().replace("7.625", "7.652"))
    with pytest.raises(LedgerError) as caught:
        _load(invented_text)
    (finding,) = caught.value.findings
    assert "checks.toml: content: what was compared is another; run `refdb source check second-article`" in finding


def test_a_second_reading_changes_no_reading_and_no_row(invented_text: Path) -> None:
    _write(invented_text)
    before = derive_records(invented_text)
    document = document_of(_load(invented_text), invented_text, KEY)
    write_down(document, [keyed_again(document, "B. Other", {(SPEED, "number"): "5100"})], "2026-12-01")
    after = derive_records(invented_text)
    assert {row for row in after if after[row] != before[row]} == {KEY}


@pytest.mark.parametrize("text", ["reading,number\na,1\n", "reading,place,number\na,number\n", "\x00"])
def test_a_file_of_keyed_numbers_with_other_columns_is_refused(tmp_path: Path, text: str) -> None:
    file = tmp_path / "keyed.csv"
    file.write_text(text)
    with pytest.raises(BadParameter, match=r"^keyed: "):
        read_keyed(file)


def test_the_command_reads_again_and_answers_show_it(
    invented_text: Path, file: Path, command: Callable[..., Any], tmp_path: Path
) -> None:
    from refdb.data import current
    from refdb.database import Database
    from refdb.lookup import ReleaseStore
    from refdb.release import build
    from refdb.values.reader import Reader

    _write(invented_text, carrier=_carrier())
    printed = command("source", "check", KEY, "--carrier", str(file), "--text", str(invented_text))
    assert printed.code == 0
    assert "Written down: 2 numbers of 2 reading(s) against second-article." in printed.out
    cut_release(invented_text, "2026r1", "Invented.", datetime.date(2026, 1, 2))
    build(invented_text, tmp_path / "compiled")
    database = Database(Reader(ReleaseStore(current(tmp_path / "compiled").store)))
    row = database.store.record("invented-metal.density", database.release())
    assert row is not None
    answer = database.value("invented-metal", "density", temperature="20 degC")
    (source,) = [one for one in answer.document()["sources"] if one["key"] == KEY]
    assert source["reproduced_in"] == "invented/tubes, commit aaaaaaaaaaaa, data/tubes.csv"
    assert source["checked_by"].startswith("refdb ")


def test_the_command_asks_for_each_number_without_showing_it(
    invented_text: Path, command: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    _write(invented_text)
    answers = iter(["7.625", "stop"])
    monkeypatch.setattr("click.prompt", lambda *_, **__: next(answers))
    printed = command("source", "check", KEY, "--by", "B. Other", "--text", str(invented_text))
    assert "5100" not in printed.out.split("Against the print")[0].split("Against print")[0]
    assert "Written down: 1 numbers of 1 reading(s) against print." in printed.out


def test_a_document_that_is_none_is_refused(invented_text: Path) -> None:
    with pytest.raises(UnknownName, match="key: there is no document 'nothing'"):
        document_of(_load(invented_text), invented_text, "nothing")
