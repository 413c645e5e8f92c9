"""The elements as the Python package mendeleev carries them."""

from __future__ import annotations

from functools import cache
from typing import Any

from tests.peers import Peer

mendeleev = Peer("mendeleev.fetch")


@cache
def element(symbol: str) -> Any:
    """A row of its table of elements: density in g/cm3, lattice constant in angstrom, and what else it tells."""
    return _elements().loc[symbol]


@cache
def _elements() -> Any:
    # One question for all of them: asking for one element loads its isotopes, ionic radii and screening constants too.
    return mendeleev.fetch_table("elements").set_index("symbol")
