"""Questions changed at random, but the same way every time: what people mistype and programs get wrong."""

from __future__ import annotations

import copy
import random
import re
from collections.abc import Iterator
from typing import Any

POWERS = (1, -1, 2, -2, 3, -3, 6, -6, 9, -9, 12, -12, 20, -20, 25, -25, 29, -29, 60, -60, 150, -150, 300, -300, 305)
"""Powers of ten by which a number is off: of a prefix, of a slip, and of what overflows a float."""
UNITS = ("kg", "m/s", "degC", "K", "Pa", "%", "1", "s", "m", "MHz", "J/(kg K)", "degAPI", "SSU", "")
TEXTS = ("", " ", "\x00", "x" * 300)
VALUES: tuple[Any, ...] = (None, [], {}, "", 0, True, 1.5, -1, 1e308, 10**25, [[]], {"unit": "m"}, "20")
"""What may stand in a body in place of anything else."""
FEWEST, MOST = 1, 3
"""How many members are changed at once."""

_NUMBER = re.compile(r"-?\d+(\.\d+)?")

Path = tuple[str | int, ...]


def changed_text(chance: random.Random, text: str) -> str:
    """A text with its number off by a power of ten, without its sign, zero or gone, or with another unit."""
    kind = chance.randrange(8)
    found = _NUMBER.search(text)
    if found is None or kind == 7:
        return chance.choice(TEXTS)
    before, number, after = text[: found.start()], found[0], text[found.end() :]
    if kind < 4:
        return f"{before}{number}e{chance.choice(POWERS)}{after}"
    if kind == 4:
        return f"{before}-{number}{after}"
    if kind == 5:
        return f"{before}0{after}"
    return f"{before}{number} {chance.choice(UNITS)}"


def changed_query(chance: random.Random, query: dict[str, str]) -> dict[str, str]:
    """A query with some parameters changed."""
    changed = dict(query)
    for _ in range(chance.randint(FEWEST, MOST)):
        name = chance.choice(list(query))
        changed[name] = changed_text(chance, query[name])
    return changed


def changed_body(chance: random.Random, body: dict[str, Any]) -> dict[str, Any]:
    """A body with some members changed, of the right kind mostly."""
    changed = copy.deepcopy(body)
    for _ in range(chance.randint(FEWEST, MOST)):
        *way, last = chance.choice(list(_places(changed)))
        held: Any = changed
        for step in way:
            held = held[step]
        was = held[last]
        right_kind = isinstance(was, str) and chance.random() < 0.8
        held[last] = changed_text(chance, was) if right_kind else chance.choice(VALUES)
    return changed


def _places(part: Any, way: Path = ()) -> Iterator[Path]:
    """Where the members of a document stand, those of its parts too."""
    items = part.items() if isinstance(part, dict) else enumerate(part) if isinstance(part, list) else ()
    for key, item in items:
        yield (*way, key)
        yield from _places(item, (*way, key))
