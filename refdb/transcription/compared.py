"""What comes of holding an entered number against a carrier or the print."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from refdb.records.models import How
from refdb.records.numbers import EnteredNumber

Sight = How | Literal["in the file"]
"""How a number was found again. The digits somewhere in a file prove nothing, so a check is never written of that."""


@dataclass(frozen=True)
class Compared:
    """A number held against a carrier or the print.

    `found` is the text that stands there, or None where no number could be found for it; `equal` says whether the two
    are the same number.
    """

    number: EnteredNumber
    found: str | None
    equal: bool
    how: Sight
