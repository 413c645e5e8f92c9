"""Recommending: from what documents say to what a release advises, by rules that show their working."""

from refdb.recommend.derive import recommend

__all__ = ["recommend"]
