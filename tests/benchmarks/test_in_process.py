"""Speed and memory in one process, against named peers."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

from refdb.database import Database
from tests.peers import Peer

CP = Peer("CoolProp.CoolProp")

Ratio = Callable[[Callable[[], float], Callable[[], float], int], float]
QUESTIONS = 2000
REFDB = str(Path(sys.executable).parent / "refdb")
ASK = [REFDB, "value", "water", "sound_speed", "--temperature", "20 degC"]


def _seconds(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def test_one_value_takes_at_most_twice_a_coolprop_state_update(database: Database, ratio: Ratio) -> None:
    texts = [f"{5.0 + 0.04 * number:.2f} degC" for number in range(QUESTIONS)]
    kelvins = [278.15 + 0.04 * number for number in range(QUESTIONS)]
    state = CP.AbstractState("HEOS", "Water")

    def ours() -> None:
        for text in texts:
            database.value("water", "sound_speed", temperature=text)

    def peer() -> None:
        for kelvin in kelvins:
            state.update(CP.PT_INPUTS, 101325.0, kelvin)
            state.speed_sound()

    assert ratio(lambda: _seconds(ours), lambda: _seconds(peer), 9) <= 2.0


def test_the_first_answer_of_the_command_line_takes_at_most_15_times_importing_sqlite3(ratio: Ratio) -> None:
    floor = [sys.executable, "-c", "import sqlite3"]
    assert ratio(lambda: _seconds(lambda: _run(ASK)), lambda: _seconds(lambda: _run(floor)), 9) <= 15.0


def test_the_first_answer_of_the_command_line_takes_at_most_5_times_the_memory_of_importing_sqlite3(
    ratio: Ratio,
) -> None:
    floor = [sys.executable, "-c", "import sqlite3"]
    assert ratio(lambda: _peak_bytes(ASK), lambda: _peak_bytes(floor), 3) <= 5.0


def _run(command: list[str]) -> None:
    subprocess.run(command, check=True, capture_output=True)


def _peak_bytes(command: list[str]) -> float:
    """Peak resident memory of a command, as its own parent sees it."""
    code = (
        "import resource, subprocess, sys; subprocess.run(sys.argv[1:], check=True, capture_output=True); "
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"
    )
    done = subprocess.run([sys.executable, "-c", code, *command], check=True, capture_output=True, text=True)
    unit = 1.0 if sys.platform == "darwin" else 1024.0
    return float(done.stdout) * unit
