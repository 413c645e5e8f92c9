"""House values: values that an organisation measured or prefers, kept in its own store beside the releases.

import refdb
from refdb.house import House

db = refdb.open(house=House("sqlite:///house.sqlite"))
db.value("carbon-steel", "longitudinal_speed", layers="house,release")
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from refdb.house.register import House, version_document

__all__ = ["House", "version_document"]


def __getattr__(name: str) -> Any:
    """Load the desk, and SQLAlchemy with it, when it is used: what can be asked of it is known without."""
    if name not in __all__:
        raise AttributeError(f"module 'refdb.house' has no attribute '{name}'")
    return getattr(import_module("refdb.house.register"), name)
