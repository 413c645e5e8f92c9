"""Prints the digest over all records as they are derived here: `python -m tests.tools.derived_digest [FOLDER]`.

The same text gives the same digest on every processor; a test runs this as other processors would.
"""

from __future__ import annotations

import sys
from pathlib import Path

from refdb.records import digest, release_digest
from refdb.release import derive_records

PROJECT = Path(__file__).parents[2]


def derived_digest(text_root: Path) -> str:
    """The digest that a release cut from the text would have, were no row carried forward."""
    return release_digest((row, digest(record)) for row, record in derive_records(text_root).items())


if __name__ == "__main__":
    print(derived_digest(Path(sys.argv[1]) if len(sys.argv) > 1 else PROJECT))
