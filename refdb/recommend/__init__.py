"""Recommending: from what documents say to what a release advises, by rules that show their working."""

from refdb.recommend.derive import Derived, recommend
from refdb.recommend.steps import Earlier, Step

__all__ = ["Derived", "Earlier", "Step", "recommend"]
