"""What takes long to make and several test processes need: made by the first that asks, read by the others."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import fasteners
import pytest

Made = TypeVar("Made")


def made_once(tmp_path_factory: pytest.TempPathFactory, name: str, make: Callable[[Path], Made]) -> Made:
    """What `make` gives, made once for all processes of a run; the others wait for it and read a copy.

    Args:
        name: of the folder that `make` is given to keep files in, the same one for all processes.
    """
    base = tmp_path_factory.getbasetemp()
    # Every process of pytest-xdist has a folder of its own below one that they share.
    root = base.parent if base.name.startswith("popen-") else base
    kept = root / f"{name}.pickle"
    with fasteners.InterProcessLock(root / f"{name}.lock"):
        if not kept.is_file():
            folder = root / name
            folder.mkdir()
            kept.write_bytes(pickle.dumps(make(folder)))
    made: Made = pickle.loads(kept.read_bytes())  # noqa: S301 - written above
    return made
