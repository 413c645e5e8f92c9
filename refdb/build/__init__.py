"""Building: from the text to the compiled store, cutting releases, verifying them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from refdb.build.compile import build
from refdb.build.verify import verify

if TYPE_CHECKING:
    from refdb.build.carry import carried_forward
    from refdb.build.release import changes_since, cut_release, derive_records

__all__ = ["build", "carried_forward", "changes_since", "cut_release", "derive_records", "verify"]

_DERIVING = {
    "carried_forward": "carry",
    "changes_since": "release",
    "cut_release": "release",
    "derive_records": "release",
}


def __getattr__(name: str) -> Any:
    """Load what derives values when it is first used: compiling and verifying need none of it."""
    if name not in _DERIVING:
        raise AttributeError(f"module 'refdb.build' has no attribute '{name}'")
    from importlib import import_module

    return getattr(import_module(f"refdb.build.{_DERIVING[name]}"), name)
