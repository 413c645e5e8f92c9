"""Building: from the text to the compiled store, cutting releases, verifying them."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from refdb.release.compile import build
from refdb.release.verify import verify

if TYPE_CHECKING:
    from refdb.release.cut import (
        Draft,
        changes_since,
        check_cut,
        cut_release,
        derive_records,
        draft_release,
        write_draft,
    )

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


def __getattr__(name: str) -> Any:
    """Load what derives values when it is first used: compiling and verifying need none of it."""
    if name not in __all__:
        raise AttributeError(f"module 'refdb.release' has no attribute '{name}'")
    return getattr(import_module("refdb.release.cut"), name)
