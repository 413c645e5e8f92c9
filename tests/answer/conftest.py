"""What the tests of answers share."""

from __future__ import annotations

import contextlib
import datetime
import shutil

import pytest

from refdb.answer import Database
from refdb.build import build, cut_release
from refdb.build.text import read_releases
from refdb.data import current
from refdb.lookup import ReleaseStore
from refdb.problems import BadParameter
from tests.conftest import PROJECT


@pytest.fixture(scope="session")
def pending(tmp_path_factory: pytest.TempPathFactory) -> Database:
    """The database as it would be if the next release were cut from the ledger of today."""
    root = tmp_path_factory.mktemp("pending")
    for folder in ("sources", "shared"):
        shutil.copytree(PROJECT / folder, root / folder)
    newest = read_releases(root)[-1].label
    following = f"{newest.split('r')[0]}r{int(newest.split('r')[1]) + 1}"
    # Where nothing has changed since, there is nothing to cut: the newest release is the ledger of today.
    with contextlib.suppress(BadParameter):
        cut_release(root, following, "Not yet.", datetime.date(2099, 1, 1))
    build(root, root / "compiled")
    return Database(ReleaseStore(current(root / "compiled").store))
