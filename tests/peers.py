"""Libraries that tests compare with: loaded when a test first asks one, since collecting tests needs none of them."""

from __future__ import annotations

import importlib
from typing import Any


class Peer:
    """A module by its name; what it holds is found once it is asked for."""

    def __init__(self, name: str) -> None:
        self._name = name

    def __getattr__(self, wanted: str) -> Any:
        # Collecting asks everything that a test file names whether it is a test, or a mock of one.
        if wanted.startswith("__") or wanted == "_mock_name":
            raise AttributeError(wanted)
        return getattr(importlib.import_module(self._name), wanted)
