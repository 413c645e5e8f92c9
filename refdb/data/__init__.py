"""Where the compiled files lie, which of them are current, and when they are checked.

`SHA256SUMS` in this folder is the only pointer: it names the current store, vocabulary and manifest, whose file names
differ from build to build. A new build takes over by replacing that one small file. A process reads it once (`pinned`)
and answers from the files that it names then, so that it sees the old files or the new ones and never a mixture.

There are three checks, at different costs:

- *Opening* (`refdb.open()`, each call of the command line; about a millisecond): the vocabulary is hashed whole. The
  store has the size that its own header states; its table of releases (labels, order, dates, notes, numbers and digests
  of rows) fits the releases' manifests; each manifest names the digest of the one before, and the newest is the one
  that `SHA256SUMS` names. So no file is cut short, nothing is mixed from two builds, and no release is missing or
  exchanged. A changed bit in a row, a name or a link is not found.
- *Serving* (`refdb serve`, once at the start of each process; some 50 ms): every byte of all files is hashed against
  `SHA256SUMS`. This finds every change since the build, unless `SHA256SUMS` was rewritten as well.
- *Verifying* (`refdb verify`; seconds): every row, name, link, date and manifest is computed again, whatever the
  digests of the files are. If everything was rewritten consistently, only `--public-key` finds it.
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
"""The folder of the compiled files: the package's own, or the one that the setting REFDB_DATA names."""

POINTER = "SHA256SUMS"
WAY_OUT = "run `refdb build` in a checkout, or install the package again"


@dataclass(frozen=True, slots=True)
class CompiledFiles:
    """The compiled files that the pointer named when it was read, with the SHA-256 of each."""

    folder: Path
    digests: dict[str, str]

    def path(self, stem: str) -> Path:
        """The file whose name starts with `stem`.

        Raises:
            IntegrityError: the pointer names no such file, or the file is missing.
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
        """`sha256:` and the SHA-256 of the file whose name starts with `stem`; None if the pointer names none."""
        name = self._name(stem)
        return None if name is None else "sha256:" + self.digests[name]

    @property
    def store(self) -> Path:
        """The path of the release store."""
        return self.path("releases")

    @property
    def vocabulary(self) -> Path:
        """The path of the compiled vocabulary."""
        return self.path("vocabulary")

    def vocabulary_bytes(self) -> bytes:
        """The content of the compiled vocabulary, after checking its SHA-256.

        Raises:
            IntegrityError: the file is missing, or does not fit its SHA-256.
        """
        path = self.vocabulary
        content = path.read_bytes()
        if hashlib.sha256(content).hexdigest() != self.digests[path.name]:
            raise _does_not_fit(path)
        return content

    def require_whole(self) -> None:
        """Check the SHA-256 of every file.

        Raises:
            IntegrityError: a file is missing, or does not fit its SHA-256.
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
    """The compiled files that this process answers from; the pointer is read once, whatever is built later.

    Raises:
        IntegrityError: nothing has been built.
    """
    return current()


@cache
def pinned_whole() -> CompiledFiles:
    """The compiled files that this process answers from, after checking every SHA-256 once.

    Raises:
        IntegrityError: nothing has been built, or a file is missing or does not fit its SHA-256.
    """
    pinned().require_whole()
    return pinned()


def file_digest(path: Path) -> str:
    """SHA-256 of a file, in lower-case hexadecimal."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _does_not_fit(path: Path) -> IntegrityError:
    return IntegrityError(f"The compiled file {path} does not fit its SHA-256 in {POINTER}; {WAY_OUT}.")
