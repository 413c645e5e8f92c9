"""Numbers on the command line and in files that no question has: exit code 2 and one sentence."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import CommandLine

DIGITS = "9" * 5_000
MATCHED = ("match-pipe", "--circumference", "690 mm", "--wall", "8 mm")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("pipe", "b36.10", "1/0"), "size: '1/0' is not a size word"),
        (("pipe", "b36.10", "OD " + "9" * 400), "size: "),
        (("pipe", "b36.10", "8", DIGITS), "designation: "),
        ((*MATCHED, "--wall-points", DIGITS), "wall_points: "),
        (("measure-speed", "--echoes", DIGITS), "--echoes"),
        (("find", "steel", "--limit", DIGITS), "--limit"),
        (("house", "review", "some-id", "--version", "1" + "0" * 30), "--version"),
        (("house", "key", "add", "Ann", "--role", "reader", "--expires", "9999-12-31T23:59:59-12:00"), "expires: "),
        (("house", "key", "add", "Ann", "--role", "reader", "--expires", "0001-01-01T00:00:00+12:00"), "expires: "),
    ],
)
def test_a_number_nobody_counts_to_is_refused_by_name(
    command: CommandLine, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...], words: str
) -> None:
    monkeypatch.setenv("REFDB_HOUSE_URL", f"sqlite:///{tmp_path / 'house.sqlite'}")
    command("db", "upgrade")
    printed = command(*arguments)
    assert (printed.code, printed.out) == (2, "")
    assert words in printed.err
    assert printed.err.count("\n") == 1


DEEP = 100_000


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("job.toml", f"passes = {DIGITS}", "has too many digits"),
        ("job.json", f'{{"passes": {DIGITS}}}', "has too many digits"),
        ("job.toml", f"passes = {'[' * DEEP}{']' * DEEP}", "is nested too deeply"),
        ("job.json", f"{'[' * DEEP}{']' * DEEP}", "is nested too deeply"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_in_a_sentence(
    command: CommandLine, tmp_path: Path, name: str, text: str, words: str
) -> None:
    file = tmp_path / name
    file.write_text(text, encoding="utf-8")
    offered = [("offer", "check", str(file))] if file.suffix == ".toml" else [("check-answers", str(file))]
    for arguments in [("job", str(file)), *offered]:
        printed = command(*arguments)
        assert (printed.code, printed.out) == (2, ""), arguments
        assert words in printed.err, arguments
        assert printed.err.count("\n") == 1
