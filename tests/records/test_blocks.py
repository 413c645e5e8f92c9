"""Blocks: every record comes out as it went in, and no damage passes for a record."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refdb.records.blocks import BLOCK_BYTES, pack, unpack

BODIES = st.lists(st.binary(min_size=1, max_size=3 * BLOCK_BYTES) | st.binary(min_size=1, max_size=50), max_size=12)


@given(BODIES)
def test_every_body_lies_whole_where_its_place_says(bodies: list[bytes]) -> None:
    blocks, places = pack(bodies)
    unpacked = [unpack(block) for block in blocks]
    assert [unpacked[block][start : start + length] for block, start, length in places] == bodies
    assert b"".join(unpacked) == b"".join(bodies)


def test_neighbours_share_a_block_until_it_is_full() -> None:
    _, places = pack([b"x" * (BLOCK_BYTES // 4)] * 9)
    assert [place.block for place in places] == [0, 0, 0, 0, 1, 1, 1, 1, 2]


def test_groups_share_no_block() -> None:
    blocks, places = pack([b"one", b"two"], [], [b"three"])
    assert [place.block for place in places] == [0, 0, 1]
    assert unpack(blocks[1]) == b"three"


def test_bodies_that_are_alike_take_little_more_than_one() -> None:
    bodies = [b'{"id":"steel.density.%02d","value":"7.85","unit":"g/cm3"}' % number for number in range(50)]
    (block,), _ = pack(bodies)
    assert len(block) < 8 * len(bodies[0])


@pytest.mark.parametrize("damaged", [b"", b"no block", pack([b"a body"])[0][0][:-1]])
def test_what_is_no_whole_block_is_refused(damaged: bytes) -> None:
    with pytest.raises(ValueError, match="cannot be unpacked"):
        unpack(damaged)
