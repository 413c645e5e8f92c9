"""refdb: versioned reference data for clamp-on transit-time ultrasonic flow measurement.

import refdb

db = refdb.open()
c = db.value("water", "sound_speed", temperature="20 degC")
c.magnitude, c.unit, c.standard_uncertainty, c.row, c.sources
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from refdb.opening import open_database as open  # noqa: A004 - refdb.open() reads best
    from refdb.problems import Problem
    from refdb.units import Quantity

__all__ = ["Problem", "Quantity", "open"]

_EXPORTS = {
    "open": ("refdb.opening", "open_database"),
    "Problem": ("refdb.problems", "Problem"),
    "Quantity": ("refdb.units", "Quantity"),
}


def __getattr__(name: str) -> Any:
    """Load the public names when they are first used: importing refdb alone costs nothing."""
    if name not in _EXPORTS:
        raise AttributeError(f"module 'refdb' has no attribute '{name}'")
    import importlib

    module, attribute = _EXPORTS[name]
    return getattr(importlib.import_module(module), attribute)
