"""Building: from the text to the compiled store, cutting releases, verifying them."""

from refdb.build.compile import build
from refdb.build.release import (
    Draft,
    changes_since,
    check_cut,
    cut_release,
    derive_records,
    draft_release,
    write_draft,
)
from refdb.build.verify import verify

__all__ = [
    "Draft",
    "build",
    "changes_since",
    "check_cut",
    "cut_release",
    "derive_records",
    "draft_release",
    "verify",
    "write_draft",
]
