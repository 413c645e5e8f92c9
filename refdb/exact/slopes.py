"""Slopes at the points of a table: of a cubic spline for smooth points, and slopes that do not overshoot."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise


def spline_slopes(xs: Sequence[float], ys: Sequence[float]) -> list[float]:
    """The slopes of the not-a-knot cubic spline: its first two pieces are one cubic, and so are its last two.

    De Boor, A Practical Guide to Splines, Springer 1978, chapter IV. The spline is a straight line through two points
    and a parabola through three.

    Args:
        xs: the arguments, rising.
        ys: the values.
    """
    widths, chords = _pieces(xs, ys)
    if len(chords) == 1:
        return [chords[0], chords[0]]
    if len(chords) == 2:
        return _parabola_slopes(widths, chords)
    first, second, last, last_but_one = widths[0], widths[1], widths[-1], widths[-2]
    # Rows of (below, at, above, right side) of the equations for the slopes.
    rows = [(0.0, second, first + second, _end(first, second, chords[0], chords[1]))]
    for place in range(1, len(chords)):
        left, right = widths[place - 1], widths[place]
        wanted = 3.0 * (right * chords[place - 1] + left * chords[place])
        rows.append((right, 2.0 * (left + right), left, wanted))
    rows.append((last + last_but_one, last_but_one, 0.0, _end(last, last_but_one, chords[-1], chords[-2])))
    return _tridiagonal(rows)


def monotone_slopes(xs: Sequence[float], ys: Sequence[float]) -> list[float]:
    """Slopes with which every cubic piece stays between the values of its two points.

    Fritsch and Butland, SIAM J. Sci. Stat. Comput. 5, 300-304, 1984: the weighted harmonic mean of the neighbouring
    chords, zero where their signs differ. At the ends the three-point formula, limited where it would overshoot (Moler,
    Numerical Computing with MATLAB, SIAM 2004, section 3.6).

    Args:
        xs: the arguments, rising.
        ys: the values.
    """
    widths, chords = _pieces(xs, ys)
    if len(chords) == 1:
        return [chords[0], chords[0]]
    inner = [_harmonic(*widths[at : at + 2], *chords[at : at + 2]) for at in range(len(chords) - 1)]
    return [
        _held_back(*widths[:2], *chords[:2]),
        *inner,
        _held_back(widths[-1], widths[-2], chords[-1], chords[-2]),
    ]


def _pieces(xs: Sequence[float], ys: Sequence[float]) -> tuple[list[float], list[float]]:
    """The width of each piece and the slope of its chord."""
    widths = [right - left for left, right in pairwise(xs)]
    return widths, [(ys[at + 1] - ys[at]) / width for at, width in enumerate(widths)]


def _parabola_slopes(widths: Sequence[float], chords: Sequence[float]) -> list[float]:
    bend = (chords[1] - chords[0]) / (widths[0] + widths[1])
    return [chords[0] - bend * widths[0], chords[0] + bend * widths[0], chords[1] + bend * widths[1]]


def _end(outer: float, inner: float, chord: float, next_chord: float) -> float:
    """The right side of the equation that makes the first two pieces one cubic."""
    both = outer + inner
    return ((outer + 2.0 * both) * inner * chord + outer * outer * next_chord) / both


def _tridiagonal(rows: Sequence[tuple[float, float, float, float]]) -> list[float]:
    """The solution of a tridiagonal system, by forward elimination and back substitution."""
    ratios: list[tuple[float, float]] = []
    for below, at, above, wanted in rows:
        ratio, value = ratios[-1] if ratios else (0.0, 0.0)
        pivot = at - below * ratio
        ratios.append((above / pivot, (wanted - below * value) / pivot))
    found = [0.0]
    for ratio, value in reversed(ratios):
        found.append(value - ratio * found[-1])
    return found[:0:-1]


def _harmonic(left: float, right: float, chord: float, next_chord: float) -> float:
    if chord * next_chord <= 0.0:
        return 0.0
    first, second = 2.0 * right + left, right + 2.0 * left
    return 1.0 / ((first / chord + second / next_chord) / (first + second))


def _held_back(outer: float, inner: float, chord: float, next_chord: float) -> float:
    slope = ((2.0 * outer + inner) * chord - outer * next_chord) / (outer + inner)
    if slope * chord <= 0.0:
        return 0.0
    if chord * next_chord < 0.0 and abs(slope) > 3.0 * abs(chord):
        return 3.0 * chord
    return slope
