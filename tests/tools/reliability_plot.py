"""Drawing of how well probabilities mean what they say, as plain SVG."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from tests.tools.pipe_campaign import Bin

SIDE, LEFT, TOP = 320.0, 60.0, 20.0
_COLOURS = ("#1b6ca8", "#b5541c")


def reliability_plot(series: Mapping[str, list[Bin]]) -> str:
    """What was said along the bottom, what came true up the side; the area of a dot is the number of cases."""
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {LEFT + SIDE + 40:.0f} {TOP + SIDE + 80:.0f}" '
        'font-family="sans-serif" font-size="12">',
        f'<rect x="{LEFT:.1f}" y="{TOP:.1f}" width="{SIDE:.1f}" height="{SIDE:.1f}" fill="none" stroke="#444"/>',
        f'<line x1="{_x(0):.1f}" y1="{_y(0):.1f}" x2="{_x(1):.1f}" y2="{_y(1):.1f}" stroke="#999" '
        'stroke-dasharray="4 4"/>',
        *_ticks(),
        f'<text x="{LEFT + SIDE / 2:.1f}" y="{TOP + SIDE + 36:.1f}" text-anchor="middle">probability told</text>',
        f'<text x="16" y="{TOP + SIDE / 2:.1f}" text-anchor="middle" '
        f'transform="rotate(-90 16 {TOP + SIDE / 2:.1f})">part that was true</text>',
    ]
    for number, (name, bins) in enumerate(series.items()):
        parts += _dots(name, bins, _COLOURS[number], TOP + SIDE + 56 + 16 * number)
    return "\n".join([*parts, "</svg>"]) + "\n"


def _x(probability: float) -> float:
    return LEFT + SIDE * probability


def _y(part: float) -> float:
    return TOP + SIDE * (1.0 - part)


def _ticks() -> Iterator[str]:
    for tenth in range(0, 11, 2):
        label = f"{tenth / 10:.1f}"
        yield f'<text x="{_x(tenth / 10):.1f}" y="{TOP + SIDE + 16:.1f}" text-anchor="middle">{label}</text>'
        yield f'<text x="{LEFT - 8:.1f}" y="{_y(tenth / 10) + 4:.1f}" text-anchor="end">{label}</text>'


def _dots(name: str, bins: list[Bin], colour: str, line: float) -> Iterator[str]:
    total = sum(each.count for each in bins)
    for each in bins:
        radius = 3.0 + 12.0 * (each.count / total) ** 0.5
        yield (
            f'<circle cx="{_x(each.said):.1f}" cy="{_y(each.true):.1f}" r="{radius:.1f}" fill="{colour}" '
            f'fill-opacity="0.6"><title>{name}: {each.count} cases</title></circle>'
        )
    yield f'<circle cx="{LEFT + 6:.1f}" cy="{line - 4:.1f}" r="5" fill="{colour}" fill-opacity="0.6"/>'
    yield f'<text x="{LEFT + 18:.1f}" y="{line:.1f}">{name}</text>'
