"""Progress in a log: plain lines, few of them."""

from __future__ import annotations

import io
from collections.abc import Iterator

from refdb.release.progress import SECONDS_BETWEEN_LINES, plain_lines, stage, stepper


def _clock(*seconds: float) -> Iterator[float]:
    yield from seconds


def test_a_stage_is_told_when_it_begins_and_then_once_every_few_seconds() -> None:
    log = io.StringIO()
    moments = _clock(0.0, 1.0, 4.9, SECONDS_BETWEEN_LINES, 6.0, 2 * SECONDS_BETWEEN_LINES, 11.0)
    progress = plain_lines(log, lambda: next(moments))
    step = stepper(progress, "packing records", 12_000)
    for _ in range(6):
        step("a record")
    assert log.getvalue() == (
        "refdb: packing records\nrefdb: packing records: 3 of 12,000\nrefdb: packing records: 5 of 12,000\n"
    )


def test_each_stage_has_a_line_however_short_it_is() -> None:
    log = io.StringIO()
    progress = plain_lines(log, lambda: 0.0)
    for name in ("compiling the vocabulary", "packing records"):
        with stage(progress, name):
            pass
    assert log.getvalue() == "refdb: compiling the vocabulary\nrefdb: packing records\n"


def test_the_end_of_a_stage_needs_no_line() -> None:
    log = io.StringIO()
    moments = _clock(0.0, 60.0)
    with stage(plain_lines(log, lambda: next(moments)), "compiling the vocabulary"):
        pass
    assert log.getvalue() == "refdb: compiling the vocabulary\n"


def test_lines_hold_no_control_codes() -> None:
    log = io.StringIO()
    step = stepper(plain_lines(log), "reading releases", 3)
    for _ in range(3):
        step("2026r1")
    assert log.getvalue().replace("\n", "").isprintable()
