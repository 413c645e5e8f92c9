"""Liquids that have a measured sound speed: how far off and how likely each is, before they are told in words."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from refdb.liquids.inversion import COVERAGE
from refdb.liquids.measurement import LiquidMeasurement
from refdb.values.options import Options
from refdb.values.value import Answer, RowText

if TYPE_CHECKING:
    from refdb.liquids.documents import Content, Reason


Row = Callable[[str], RowText]
"""A subject's id to its row of one property; a problem where it has none."""


@dataclass(frozen=True, slots=True)
class LiquidMatchItem:
    """A liquid whose speed is at or near the measured one.

    Attributes:
        answer: its speed at the state, with row and sources; in the unit of the answer.
        difference: measured less recommended, in m/s.
        spread: the standard uncertainty of the difference, in m/s.
        likelihood: normal, relative to that of the best liquid.
        content: the part of the state, `salinity` or `strength`, that was taken where it fits best; None otherwise.
    """

    answer: Answer
    difference: float
    spread: float
    likelihood: float
    content: Content | None

    @property
    def deviation(self) -> float:
        """How many standard uncertainties of both the measured speed is above."""
        return self.difference / self.spread

    @property
    def agrees(self) -> bool:
        """Whether measured and recommended agree within the coverage."""
        return abs(self.deviation) <= COVERAGE

    @property
    def name(self) -> str:
        """The liquid's name."""
        return str(self.answer.text.subject["name"])


@dataclass
class LiquidOutcomes:
    """Liquids that have a measured speed, as numbers.

    Attributes:
        items: those that agree, the likeliest first.
        near: those that miss by no more than four standard uncertainties.
        left_out: reason to the ids of the liquids that it left out.
    """

    release: str
    options: Options
    measured: LiquidMeasurement
    items: list[LiquidMatchItem]
    near: list[LiquidMatchItem]
    left_out: dict[Reason, list[str]]
    density: Row
    limit: int
