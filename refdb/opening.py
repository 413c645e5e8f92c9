"""Opening the compiled database that is installed with the package, or the one of another folder."""

from __future__ import annotations

from pathlib import Path

from refdb.data import POINTER, WAY_OUT, CompiledFiles, current, pinned
from refdb.database import Database
from refdb.lookup import ReleaseStore
from refdb.problems import IntegrityError
from refdb.values.layers import HouseLayer
from refdb.values.reader import Reader
from refdb.vocabulary import vocabulary


def open_database(
    release: str | None = None,
    as_of: str | None = None,
    store: Path | None = None,
    house: HouseLayer | None = None,
) -> Database:
    """Open the compiled database.

    Args:
        release: read this release unless a question names another; the newest by default.
        as_of: read the newest release cut on or before this UTC date (`YYYY-MM-DD`).
        store: the compiled store file of another folder; `SHA256SUMS` must name it there, with the same vocabulary.
        house: where house values come from, such as `refdb.house.House(URL)`; asked with `layers="house,release"`.

    Raises:
        IntegrityError: no store has been compiled, or what is there does not fit; `refdb.data` says what is checked.
        UnknownName: there is no such release.
    """
    files = pinned() if store is None else _beside(store)
    opened = ReleaseStore(files.store)
    if opened.manifest != files.digest("manifest"):
        raise IntegrityError(
            f"The release store {opened.path} is not the one that the manifest beside it tells; {WAY_OUT}."
        )
    vocabulary()  # now, since a later build may clear its file away
    return Database(Reader(opened, release, as_of, house))


def _beside(store: Path) -> CompiledFiles:
    """The compiled files of the folder that a store lies in."""
    files = current(store.parent)
    if files.store.name != store.name:
        raise IntegrityError(f"The release store {store} is not {files.store.name}, which {POINTER} names there.")
    if files.digest("vocabulary") != pinned().digest("vocabulary"):
        raise IntegrityError(
            f"The release store {store} was compiled with another vocabulary than the one in {pinned().folder}, which "
            f"is in use; read its folder with the setting REFDB_DATA={store.parent}."
        )
    return files
