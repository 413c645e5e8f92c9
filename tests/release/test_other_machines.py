"""The same text gives the same digits on every machine: the ledger of today derived as other processors would do it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from typing import Any

import pytest

from refdb.records import digest, release_digest
from tests.conftest import PROJECT

PROGRAM = ("-m", "tests.tools.derived_digest")
OLD_INSTRUCTIONS = {
    "NPY_DISABLE_CPU_FEATURES": "X86_V3 X86_V4 AVX512_ICL",
    "GLIBC_TUNABLES": "glibc.cpu.hwcaps=-AVX2,-FMA",
}
"""No fused multiplications: neither numpy's loops nor the exponentials and logarithms of the C library use them."""

MACHINES = {
    "AVX2, by Intel's kernel": {"OPENBLAS_CORETYPE": "HASWELL", "NPY_DISABLE_CPU_FEATURES": "X86_V4 AVX512_ICL"},
    "AVX2, by AMD's kernel": {"OPENBLAS_CORETYPE": "ZEN", "NPY_DISABLE_CPU_FEATURES": "X86_V4 AVX512_ICL"},
    "AVX512": {"OPENBLAS_CORETYPE": "SKYLAKEX"},
    "old instructions, two threads": {"OPENBLAS_NUM_THREADS": "2", **OLD_INSTRUCTIONS},
}
"""What a processor lacks that is asked for here cannot be tried: the library then takes what there is."""

PYTHONS = ("python3.11", "python3.12", "python3.13", "python3.14")


def derived(environment: dict[str, str], python: str = sys.executable) -> str:
    """The digest over all records, derived in a process of its own."""
    found = subprocess.run(
        [python, *PROGRAM], env={**os.environ, **environment}, cwd=PROJECT, capture_output=True, text=True, check=False
    )
    assert found.returncode == 0, found.stderr
    return found.stdout.strip()


@pytest.fixture(scope="session")
def here(records: dict[str, dict[str, Any]]) -> str:
    """The digest over all records, derived in this process."""
    return release_digest((row, digest(record)) for row, record in records.items())


def test_an_old_processor_with_one_thread_derives_the_same_digits(here: str) -> None:
    one_thread = {"OPENBLAS_NUM_THREADS": "1", "PYTHONHASHSEED": "1"}
    assert derived({"OPENBLAS_CORETYPE": "SANDYBRIDGE", **one_thread, **OLD_INSTRUCTIONS}) == here


@pytest.mark.long
@pytest.mark.parametrize("machine", MACHINES)
def test_every_processor_derives_the_same_digits(here: str, machine: str) -> None:
    assert derived(MACHINES[machine]) == here


@pytest.mark.long
@pytest.mark.parametrize("name", PYTHONS)
def test_every_python_derives_the_same_digits(here: str, name: str) -> None:
    python = shutil.which(name)
    if (
        python is None
        or subprocess.run(
            [python, "-c", "import refdb.release"], cwd=PROJECT, capture_output=True, check=False
        ).returncode
    ):
        pytest.skip(f"no {name} with the libraries that the build needs")
    assert derived({}, python) == here
