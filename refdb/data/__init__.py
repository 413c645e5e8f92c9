"""Where the compiled files lie, which of them are current, and what is checked of them when.

`SHA256SUMS` in this folder is the one pointer: it names the current store, vocabulary and manifest, whose file names
are their own. Replacing that one small file is how a new build takes over. A process reads it once (`pinned`) and
answers from the files it names then, so that it sees the old ones or the new ones and never a mixture.

What is checked guards against different things, at different costs:

- *Opening* (`refdb.open()`, each call of the command line; about a millisecond): the vocabulary is hashed whole. The
  store has the size that its own header states; what its table of releases says (labels, order, dates, notes, numbers
  and digests of rows) fits the releases' manifests; each manifest names the digest of the one before, and the newest
  is the one that `SHA256SUMS` names. So no file is cut short, nothing is mixed from two builds, and no release is
  missing or exchanged. A changed bit in a row, a name or a link is not seen.
- *Serving* (`refdb serve`, once at the start of each process; some 50 ms): every byte of all files is hashed against
  `SHA256SUMS`. Nothing has changed since the build, unless somebody rewrote `SHA256SUMS` as well.
- *Verifying* (`refdb verify`; seconds): every row, name, link, date and manifest is computed again, whatever the
  digests of the files say. Somebody who rewrote all of it consistently is found with `--public-key` alone.
"""

from __future__ import annotations

import hashlib
import os
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from refdb.problems import IntegrityError

PACKAGE_FOLDER = Path(__file__).parent
FOLDER = Path(os.environ.get("REFDB_DATA") or PACKAGE_FOLDER)
"""The compiled files that are read: the package's own, or those that the setting REFDB_DATA names."""

POINTER = "SHA256SUMS"
WAY_OUT = "run `refdb build` in a checkout, or install the package again"


@dataclass(frozen=True, slots=True)
class CompiledFiles:
    """The compiled files that the pointer named when it was read, and the SHA-256 it gave for each."""

    folder: Path
    digests: dict[str, str]

    def path(self, stem: str) -> Path:
        """The file whose name starts with `stem`.

        Raises:
            IntegrityError: the pointer named no such file, or the file is gone.
        """
        name = self._name(stem)
        if name is not None and (self.folder / name).is_file():
            return self.folder / name
        if name is not None and (self.folder / POINTER).is_file() and current(self.folder).digests != self.digests:
            raise IntegrityError(
                f"The compiled file {name} has been cleared away by a later build in {self.folder}; what is open "
                "belongs to the earlier one, so start the program again."
            )
        raise IntegrityError(f"The compiled file '{stem}' is missing from {self.folder}; {WAY_OUT}.")

    def digest(self, stem: str) -> str | None:
        """`sha256:` and the SHA-256 that the pointer gave for the file whose name starts with `stem`, if any."""
        name = self._name(stem)
        return None if name is None else "sha256:" + self.digests[name]

    @property
    def store(self) -> Path:
        """The release store."""
        return self.path("releases")

    @property
    def vocabulary(self) -> Path:
        """The compiled vocabulary."""
        return self.path("vocabulary")

    def vocabulary_bytes(self) -> bytes:
        """The compiled vocabulary, hashed.

        Raises:
            IntegrityError: it is gone, or does not fit its SHA-256.
        """
        path = self.vocabulary
        content = path.read_bytes()
        if hashlib.sha256(content).hexdigest() != self.digests[path.name]:
            raise _does_not_fit(path)
        return content

    def require_whole(self) -> None:
        """Hash every file.

        Raises:
            IntegrityError: one is gone, or does not fit its SHA-256.
        """
        for name in self.digests:
            path = self.path(name.partition("-")[0])
            if file_digest(path) != self.digests[name]:
                raise _does_not_fit(path)

    def _name(self, stem: str) -> str | None:
        return next((name for name in self.digests if name.startswith(stem + "-")), None)


def current(folder: Path = FOLDER) -> CompiledFiles:
    """The compiled files that are current in `folder`.

    Raises:
        IntegrityError: nothing has been built there.
    """
    pointer = folder / POINTER
    if not pointer.is_file():
        raise IntegrityError(f"There is no compiled store in {folder}; {WAY_OUT}.")
    digests: dict[str, str] = {}
    for line in pointer.read_text(encoding="ascii").splitlines():
        digest, _, name = line.partition("  ")
        digests[name] = digest
    return CompiledFiles(folder, digests)


@cache
def pinned() -> CompiledFiles:
    """The compiled files that this process answers from: the pointer is read once, whatever is built later.

    Raises:
        IntegrityError: nothing has been built.
    """
    return current()


@cache
def pinned_whole() -> CompiledFiles:
    """The compiled files that this process answers from, every byte of them hashed, once.

    Raises:
        IntegrityError: nothing has been built, or a file is gone or does not fit its SHA-256.
    """
    pinned().require_whole()
    return pinned()


def file_digest(path: Path) -> str:
    """SHA-256 of a file, in lower-case hexadecimal."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _does_not_fit(path: Path) -> IntegrityError:
    return IntegrityError(f"The compiled file {path} does not fit its SHA-256 in {POINTER}; {WAY_OUT}.")
