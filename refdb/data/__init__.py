"""Where the compiled files lie, and which of them are current.

`SHA256SUMS` in this folder is the one pointer: it names the current store and vocabulary files, whose names carry
their own digests. Replacing that one small file is how a new build takes over, so a reader sees the old pair or the
new pair and never a mixture.
"""

from __future__ import annotations

import hashlib
import os
from dataclasses import dataclass
from pathlib import Path

from refdb.problems import IntegrityError

PACKAGE_FOLDER = Path(__file__).parent
FOLDER = Path(os.environ.get("REFDB_DATA") or PACKAGE_FOLDER)
"""The compiled files that are read: the package's own, or those that the setting REFDB_DATA names."""

POINTER = "SHA256SUMS"


@dataclass(frozen=True, slots=True)
class CompiledFiles:
    """The current compiled files and the digests the pointer gives for them."""

    folder: Path
    digests: dict[str, str]

    def path(self, stem: str) -> Path:
        """The current file whose name starts with `stem`.

        Raises:
            IntegrityError: the pointer names no such file, or the file is gone.
        """
        for name in self.digests:
            if name.startswith(stem + "-") and (self.folder / name).is_file():
                return self.folder / name
        raise IntegrityError(
            f"The compiled file '{stem}' is missing from {self.folder}; run `refdb build` in a checkout, "
            "or install the package again."
        )

    @property
    def store(self) -> Path:
        """The release store."""
        return self.path("releases")

    @property
    def vocabulary(self) -> Path:
        """The compiled vocabulary."""
        return self.path("vocabulary")


def current(folder: Path = FOLDER) -> CompiledFiles:
    """The compiled files that are current in `folder`.

    Raises:
        IntegrityError: nothing has been built there.
    """
    pointer = folder / POINTER
    if not pointer.is_file():
        raise IntegrityError(
            f"There is no compiled store in {folder}; run `refdb build` in a checkout, or install the package again."
        )
    digests: dict[str, str] = {}
    for line in pointer.read_text(encoding="ascii").splitlines():
        digest, _, name = line.partition("  ")
        digests[name] = digest
    return CompiledFiles(folder, digests)


def file_digest(path: Path) -> str:
    """SHA-256 of a file, in lower-case hexadecimal."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
