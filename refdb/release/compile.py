"""Compiling: all or nothing, the same bytes from the same text, safe to repeat.

What is made is a store of all releases, the vocabulary, and the manifest of the newest release, which covers the store.
The new files are written under names of their own beside the old ones; replacing the pointer file is the one step by
which they take over. A build that is killed at any moment leaves the old files in force or the new ones.

Whether the compiled files are up to date is asked far more often than they are made, so what making them needs is
loaded only then.
"""

from __future__ import annotations

import gc
import hashlib
import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import refdb_migrations
from refdb.data import PACKAGE_FOLDER, POINTER, file_digest
from refdb.release.progress import Progress, stage
from refdb.release.text import ReleaseText, read_releases, release_folders

STALE_AFTER = 3600.0
"""Seconds after which a half-written file of a build that was killed is cleared away."""

NOT_COMPILED = ("documents", "rules", "carriers.toml", "notices", "README.md")
"""What of `sources/` only the next release is derived from."""

COMPILING_CODE = (
    Path(__file__).parent,
    Path(__file__).parent.parent / "records",
    Path(refdb_migrations.__path__[0]) / "versions",
)


def build(
    text_root: Path,
    target: Path = PACKAGE_FOLDER,
    progress: Progress | None = None,
    read: Callable[[], list[ReleaseText]] | None = None,
) -> bool:
    """Compile `shared/vocabulary/` and `sources/releases/` into `target`.

    Args:
        text_root: the folder that holds `shared/` and `sources/`.
        target: the folder of the compiled files.
        progress: told what is being done.
        read: gives the releases of the text, for who reads them anyway; asked only if something has to be made.

    Returns:
        True when new files were made, False when the compiled files already belong to the text.

    Raises:
        LedgerError: the vocabulary is wrong.
        IntegrityError: a release folder or an earlier cut does not fit its digests or its manifest, or a signature does
            not fit.
        BadParameter: a release corrects what is no release before it.
    """
    if not (text_root / "shared" / "vocabulary").is_dir():
        return False
    mark = _mark(text_root)
    manifest = (f"manifest-{mark}.json",) if release_folders(text_root) else ()
    names = (f"releases-{mark}.sqlite", f"vocabulary-{mark}.json", *manifest)
    if _is_current(target, names):
        return False
    with _no_search_for_cycles():
        _make(text_root, target, names, progress, read)
    return True


def _make(
    text_root: Path,
    target: Path,
    names: tuple[str, ...],
    progress: Progress | None,
    read: Callable[[], list[ReleaseText]] | None,
) -> None:
    from refdb.records import canonical, digest
    from refdb.release.earlier_cuts import read_earlier_cuts
    from refdb.release.manifest import manifests_of
    from refdb.release.sign import read_signatures, require_fitting
    from refdb.release.store_file import write_store
    from refdb.release.vocabulary import compile_vocabulary, vocabulary_bytes

    with stage(progress, "compiling the vocabulary"):
        vocabulary = vocabulary_bytes(compile_vocabulary(text_root))
    releases = read_releases(text_root, progress) if read is None else read()
    labels = [release.label for release in releases]
    signatures = read_signatures(text_root, labels)
    earlier_cuts = read_earlier_cuts(text_root, labels)
    manifests = manifests_of(releases)
    require_fitting(signatures, {manifest["label"]: digest(manifest) for manifest in manifests})
    target.mkdir(parents=True, exist_ok=True)
    store = target / f".building-{os.getpid()}.sqlite"
    store.unlink(missing_ok=True)
    write_store(store, releases, manifests, signatures, earlier_cuts, progress)
    _put(store, target / names[0])
    _put_bytes(vocabulary, target / names[1])
    for name in names[2:]:
        _put_bytes(canonical(manifests[-1]), target / name)
    _point_to(target, names)
    _clear_away(target, names)


@contextmanager
def _no_search_for_cycles() -> Iterator[None]:
    """Python looks for objects that hold each other; records hold none, and looking through them costs a fifth."""
    searching = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if searching:
            gc.enable()


def _mark(text_root: Path) -> str:
    """A short digest of everything that the compiled files are made from, and of the code that makes them.

    The version of pint is no part of it: its factors are rounded to fifteen digits, and files made with two versions
    should be the same.
    """
    lines = sorted(f"{name} {file_digest(file)}\n" for name, file in _made_from(text_root))
    return hashlib.sha256("".join(lines).encode("utf-8")).hexdigest()[:16]


def _made_from(text_root: Path) -> Iterator[tuple[str, Path]]:
    """The files that decide what is compiled, each with a name that is the same on every machine."""
    folders = [text_root / "shared" / "vocabulary"]
    folders += [folder for folder in (text_root / "sources").glob("*") if folder.name not in NOT_COMPILED]
    for folder in folders:
        for file in folder.rglob("*"):
            path = file.relative_to(text_root)
            if file.is_file() and not any(part.startswith(".") for part in path.parts):
                yield path.as_posix(), file
    for folder in COMPILING_CODE:
        yield from ((f"{folder.name}/{file.name}", file) for file in folder.glob("*.py"))


def _is_current(target: Path, names: tuple[str, ...]) -> bool:
    pointer = target / POINTER
    if not pointer.is_file():
        return False
    named: dict[str, str] = {}
    for line in pointer.read_text(encoding="ascii").splitlines():
        digest, _, name = line.partition("  ")
        named[name] = digest
    return set(named) == set(names) and all(
        (target / name).is_file() and file_digest(target / name) == named[name] for name in names
    )


def _put(building: Path, final: Path) -> None:
    with building.open("rb+") as stream:
        os.fsync(stream.fileno())
    building.replace(final)


def _put_bytes(content: bytes, final: Path) -> None:
    building = final.with_name(f".building-{os.getpid()}.json")
    building.write_bytes(content)
    _put(building, final)


def _point_to(target: Path, names: tuple[str, ...]) -> None:
    building = target / f".building-{os.getpid()}.sums"
    building.write_text("".join(f"{file_digest(target / name)}  {name}\n" for name in names), encoding="ascii")
    _put(building, target / POINTER)


def _clear_away(target: Path, names: tuple[str, ...]) -> None:
    for file in target.iterdir():
        superseded = file.name.startswith(("releases-", "vocabulary-", "manifest-")) and file.name not in names
        abandoned = file.name.startswith(".building-") and time.time() - file.stat().st_mtime > STALE_AFTER
        if superseded or abandoned:
            file.unlink(missing_ok=True)
