"""What people read of a pipe, a tolerance and a lining as printed."""

from __future__ import annotations

from typing import Any

import pytest

from refdb.evidence.printed import printed_words


@pytest.mark.parametrize(
    ("printed", "words"),
    [
        ({"outside_diameter": "219.1", "wall": "8.18", "unit": "mm"}, "219.1 × 8.18 mm"),
        (
            {
                "outside_diameter": "21.20",
                "outside_diameter_is": "minimum",
                "wall": "1.7",
                "wall_is": "minimum",
                "unit": "mm",
            },
            "21.20 (minimum) × 1.7 (minimum) mm",
        ),
        ({"outside_diameter": "54.00", "unit": "in"}, "54.00 in"),
        ({"outside_diameter": "98", "inside_diameter": "86", "unit": "mm"}, "98 bore 86 mm"),
        (
            {
                "quantity": "wall",
                "minus": {"greatest_of": [{"number": "12.5", "unit": "%"}]},
                "plus": {"unlimited": True},
            },
            "wall: minus 12.5 %, no upper limit",
        ),
        ({"minimum": "1/8", "unit": "in"}, "1/8 in at least"),
        ({"number": "4.0", "minimum": "2.5", "unit": "mm"}, "4.0 mm"),
    ],
)
def test_what_is_printed_is_told_in_a_line(printed: dict[str, Any], words: str) -> None:
    assert printed_words(printed) == words
