"""A table of points joined by cubic pieces."""

from __future__ import annotations

from bisect import bisect_right
from typing import Any, ClassVar

from refdb.forms.base import FormSpec
from refdb.forms.functions import PLAIN, Functions


class HermiteTable:
    """`hermite-table/1`: cubic Hermite pieces through the points, with the slopes stored beside them.

    The slopes are found once, when the row is recommended, by the method its working names, and frozen with it, so
    that evaluating needs no fitting.

    Description: `points` is a list of [x, y, slope], x rising.
    """

    name: ClassVar[str] = "hermite-table/1"
    variables: ClassVar[tuple[str, ...]] = ("temperature",)
    __slots__ = ("_arrays", "_slopes", "_x", "_y")

    def __init__(self, spec: FormSpec, _functions: Functions = PLAIN) -> None:
        self._x = [float(point[0]) for point in spec["points"]]
        self._y = [float(point[1]) for point in spec["points"]]
        self._slopes = [float(point[2]) for point in spec["points"]]
        self._arrays: Any = None

    def value(self, x: Any) -> Any:
        """The table at `x`."""
        width, s, y0, y1, d0, d1 = self._piece(x)
        return _hermite(s, y0, y1, width * d0, width * d1)

    def slopes(self, x: Any) -> tuple[Any]:
        """The curve's first derivative at `x`."""
        width, s, y0, y1, d0, d1 = self._piece(x)
        return (_hermite_slope(s, y0, y1, width * d0, width * d1) / width,)

    def _piece(self, x: Any) -> tuple[Any, ...]:
        """Width, position from 0 to 1, end values and end slopes of the piece that contains each `x`."""
        if isinstance(x, float):
            at = min(max(bisect_right(self._x, x) - 1, 0), len(self._x) - 2)
            xs, ys, slopes = self._x, self._y, self._slopes
        else:
            import numpy as np

            if self._arrays is None:
                self._arrays = tuple(np.asarray(column) for column in (self._x, self._y, self._slopes))
            xs, ys, slopes = self._arrays
            at = np.clip(np.searchsorted(xs, x, side="right") - 1, 0, len(self._x) - 2)
        width = xs[at + 1] - xs[at]
        return width, (x - xs[at]) / width, ys[at], ys[at + 1], slopes[at], slopes[at + 1]


def _hermite(s: Any, y0: Any, y1: Any, d0: Any, d1: Any) -> Any:
    rest = 1.0 - s
    return y0 * (1.0 + 2.0 * s) * rest * rest + y1 * s * s * (3.0 - 2.0 * s) + d0 * s * rest * rest - d1 * s * s * rest


def _hermite_slope(s: Any, y0: Any, y1: Any, d0: Any, d1: Any) -> Any:
    rest = 1.0 - s
    return 6.0 * s * rest * (y1 - y0) + d0 * rest * (1.0 - 3.0 * s) + d1 * s * (3.0 * s - 2.0)
