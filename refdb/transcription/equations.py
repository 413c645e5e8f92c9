"""What it takes to compute an entered number again: a library, and an equation that it carries."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from refdb.forms.states import StatePoint
from refdb.transcription.libraries import Library

Value = Callable[[StatePoint], float]
"""The value at a state, in the unit of its `LibraryEquation`."""


class LibraryEquation(NamedTuple):
    """An equation as a locator names it.

    Attributes:
        library: the one that is asked, or whose coefficients are put in.
        unit: of the values.
        prepared: loads the library and gives the function of the state. It raises LibraryNeeded where the library is
            not installed, and LookupError where it does not hold what the locator names.
    """

    library: Library
    unit: str
    prepared: Callable[[], Value]
