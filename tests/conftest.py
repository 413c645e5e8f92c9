"""What the tests share: the installed database, the ledger derived once, a client, a command line.

What derives, serves and prints is imported by the fixture that needs it: collecting tests needs none of it.
"""

from __future__ import annotations

import datetime
import io
import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import hypothesis
import pytest

import refdb
from refdb.data import FOLDER, current
from refdb.database import Database
from refdb.lookup import ReleaseStore
from refdb.problems import BadParameter
from refdb.values.reader import Reader
from tests.invented import write_invented_text
from tests.service import TestClient, create_app
from tests.shared import made_once

if TYPE_CHECKING:
    from refdb.release import Draft
    from tests.tools.calibration import Campaign

PROJECT = Path(__file__).parent.parent

hypothesis.settings.register_profile("ci", derandomize=True, deadline=None, max_examples=100)
hypothesis.settings.register_profile("campaign", deadline=None, max_examples=3_000, print_blob=True)
hypothesis.settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci"))

SERVICES = frozenset({"documents", "afresh", "records", "pending", "left_out"})
"""Fixtures that work the whole ledger through."""
SERVICE_FOLDERS = frozenset({"benchmarks", "release", "house", "store"})
"""Folders whose tests measure, compile texts, build wheels, and fill stores on both engines."""
SERVICE_FILES = frozenset({"test_serve.py", "test_calibration.py"})
WHOLE_DATABASE = frozenset(
    {
        "test_every_row_has_a_permanent_link_that_gives_it_again",
        "test_every_recommended_row_walks_to_a_document",
        "test_lists_come_in_pages_that_join_without_gap_or_overlap",
        "test_the_command_and_the_service_compare_releases",
        "test_audits_fit_with_every_word_whole",
        "test_what_the_release_says_of_water_is_not_suspicious",
        "test_whatever_is_changed_in_a_question_it_is_answered_or_refused_by_name",
        "test_without_properties_every_subject_is_answered_with_all_it_has_or_refused_plainly",
        "test_citeproc_makes_a_bibliography_of_the_documents_behind_every_row",
        "test_pybtex_reads_the_documents_behind_every_row",
        "test_left_out_documents_lie_inside_nine_times_in_ten",
        "test_a_later_build_neither_mixes_into_an_open_database_nor_is_opened_beside_its_vocabulary",
        "test_the_service_hashes_every_byte_and_does_not_start_on_what_does_not_fit",
    }
)
"""Tests that go through all rows, or through all that can be asked, for seconds each."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Marks what `make check` leaves out; the only place that does."""
    for item in items:
        assert isinstance(item, pytest.Function)
        if (
            item.path.parent.name in SERVICE_FOLDERS
            or item.path.name in SERVICE_FILES
            or item.originalname in WHOLE_DATABASE
            or not SERVICES.isdisjoint(item.fixturenames)
        ):
            item.add_marker(pytest.mark.service)


@dataclass(frozen=True)
class Printed:
    """What a command printed, and its exit code."""

    code: int
    out: str
    err: str


CommandLine = Callable[..., Printed]


@pytest.fixture(scope="session")
def project() -> Path:
    """The folder of the project's own text."""
    return PROJECT


@pytest.fixture(scope="session")
def database() -> Database:
    """The installed database at its newest release."""
    return refdb.open()


@pytest.fixture(scope="session")
def pending(tmp_path_factory: pytest.TempPathFactory) -> Database:
    """The database as it would be if the next release were cut from the ledger of today."""
    compiled = made_once(tmp_path_factory, "pending", _compiled_with_what_is_pending)
    return Database(Reader(ReleaseStore(current(compiled).store)))


def _compiled_with_what_is_pending(root: Path) -> Path:
    from refdb.release import build, cut_release
    from refdb.release.text import read_releases

    for folder in ("sources", "shared"):
        shutil.copytree(PROJECT / folder, root / folder)
    newest = read_releases(root)[-1].label
    following = f"{newest.split('r')[0]}r{int(newest.split('r')[1]) + 1}"
    try:
        cut_release(root, following, "Not yet.", datetime.date(2099, 1, 1))
    except BadParameter:
        # Where nothing has changed since, there is nothing to cut: the newest release is the ledger of today.
        return FOLDER
    build(root, root / "compiled")
    return root / "compiled"


@pytest.fixture(scope="session")
def afresh(tmp_path_factory: pytest.TempPathFactory) -> Draft:
    """What the project's text gives today beside the newest release, every row computed."""
    from refdb.release import draft_release

    return made_once(tmp_path_factory, "afresh", lambda _: draft_release(PROJECT, afresh=True))


@pytest.fixture(scope="session")
def left_out(tmp_path_factory: pytest.TempPathFactory) -> Campaign:
    """Every reading of solids against what the other documents recommend without its lineage."""
    from tests.tools.calibration import campaign

    return made_once(tmp_path_factory, "left-out", lambda _: campaign())


@pytest.fixture(scope="session")
def records(afresh: Draft) -> dict[str, dict[str, Any]]:
    """Every record that the project's text gives today, by id."""
    return afresh.records


@pytest.fixture(scope="session")
def client(database: Database) -> Iterator[TestClient]:
    """The service over the installed database."""
    with TestClient(create_app(database)) as test_client:
        yield test_client


@pytest.fixture
def command() -> CommandLine:
    """The command line, run in this process."""

    from refdb.cli.main import run

    def invoke(*arguments: str) -> Printed:
        out, err = io.StringIO(), io.StringIO()
        with redirect_stdout(out), redirect_stderr(err):
            code = run(list(arguments))
        return Printed(code, out.getvalue(), err.getvalue())

    return invoke


@pytest.fixture
def invented_text(tmp_path: Path) -> Path:
    """A small text of invented documents about invented subjects, with the real vocabulary."""
    root = tmp_path / "text"
    write_invented_text(root)
    return root
