"""Recommended roughness, compared with tables that no row of the ledger was read from.

Roughness is known to a factor, not to a percent: White states 30 to 70 % for his table, as engineersedge.com repeats.
"""

from __future__ import annotations

import math

import pytest

from refdb.database import Database
from tests.rows import each

FACTOR = 2.0
FOOT = 304.8

# White, F. M., Fluid Mechanics, Table 6.1, as carried by public code (which credits another textbook with the figures)
# and by nafta.wiki/display/GLOSSARY/Surface+roughness.
WHITE = "White, Table 6.1"
# Moody, L. F., Trans. ASME 66, 671 (1944), in feet, as tabulated at
# piping-designer.com/index.php/properties/classical-mechanics/106-absolute-roughness.
MOODY = "Moody 1944"

# Surface, document, roughness in mm.
PRINTED = [
    ("steel-new", WHITE, 0.046),
    ("steel-new", MOODY, 0.00015 * FOOT),
    ("cast-iron-new", WHITE, 0.26),
    ("cast-iron-new", MOODY, 0.00085 * FOOT),
    ("cast-iron-coated", WHITE, 0.12),
    ("cast-iron-coated", MOODY, 0.0004 * FOOT),
    ("galvanised-iron-new", WHITE, 0.15),
    ("galvanised-iron-new", MOODY, 0.0005 * FOOT),
    ("wrought-iron-new", WHITE, 0.046),
    ("wrought-iron-new", MOODY, 0.00015 * FOOT),
    ("drawn-metal-new", WHITE, 0.002),
    ("drawn-metal-new", MOODY, 0.000005 * FOOT),
    ("plastic-new", WHITE, 0.0015),
    ("glass", MOODY, 0.000005 * FOOT),
    ("steel-riveted", WHITE, 3.0),
    ("wood-stave", WHITE, 0.5),
    ("concrete-rough", WHITE, 2.0),
]


@each(("surface", "document", "millimetres"), PRINTED)
def test_the_recommended_roughness_is_within_a_factor_of_two_of_an_independent_document(
    pending: Database, surface: str, document: str, millimetres: float
) -> None:
    (answer,) = pending.roughness(surface)

    assert 1.0 / FACTOR <= answer.value.to("mm").magnitude / millimetres <= FACTOR, document


# Surface, document, printed range in mm.
PRINTED_RANGES = [
    ("concrete-or-concrete-lined-new", MOODY, 0.001 * FOOT, 0.01 * FOOT),
    ("concrete-ordinary", MOODY, 0.001 * FOOT, 0.01 * FOOT),
    ("steel-riveted", MOODY, 0.003 * FOOT, 0.03 * FOOT),
]


@pytest.mark.parametrize(("surface", "document", "low", "high"), PRINTED_RANGES)
def test_the_recommended_roughness_is_within_a_factor_of_two_of_the_middle_of_a_printed_range(
    pending: Database, surface: str, document: str, low: float, high: float
) -> None:
    (answer,) = pending.roughness(surface)
    middle = math.sqrt(low * high)

    assert 1.0 / FACTOR <= answer.value.to("mm").magnitude / middle <= FACTOR, document
    least, most = answer.printed_range or (answer.value, answer.value)
    assert least.to("mm").magnitude < high, document
    assert low < most.to("mm").magnitude, document


# White, Table 6.1 (see above), rusted steel: 2 mm. Rust knows no single number; the printed range must hold it.
def test_the_range_of_rusty_steel_holds_what_white_prints(pending: Database) -> None:
    (answer,) = pending.roughness("steel-rusty")

    assert answer.printed_range is not None
    low, high = answer.printed_range
    assert low.to("mm").magnitude <= 2.0 <= high.to("mm").magnitude


# Common practice, no source: new ductile iron is taken near 0.1 mm, stainless steel as practically smooth (0.05 mm at
# most), and a mortar lining smooths the iron.
def test_ductile_iron_and_stainless_steel_are_as_practice_takes_them(pending: Database) -> None:
    (iron,), (stainless,), (mortar,) = (
        pending.roughness(surface) for surface in ("ductile-iron-new", "stainless-new", "cement-mortar-lined")
    )

    assert 0.05 <= iron.value.to("mm").magnitude <= 0.2
    assert stainless.value.to("mm").magnitude <= 0.05
    assert mortar.value.to("mm").magnitude < iron.value.to("mm").magnitude


# Common practice, no source: rust, tubercles and age roughen a pipe; a coating smooths it.
@each(
    ("smoother", "rougher"),
    [
        ("drawn-metal-new", "stainless-new"),
        ("stainless-electropolished", "stainless-new"),
        ("stainless-new", "steel-new"),
        ("steel-drawn", "steel-new"),
        ("steel-honed", "steel-new"),
        ("steel-plastic-coated", "steel-new"),
        ("steel-new", "steel-slightly-rusted"),
        ("steel-slightly-rusted", "steel-rusty"),
        ("steel-rusty", "steel-very-rusted"),
        ("steel-very-rusted", "steel-incrusted"),
        ("steel-bitumen-coated", "steel-bitumen-coated-used"),
        ("steel-riveted", "steel-riveted-rough"),
        ("wrought-iron-new", "wrought-iron-rusty"),
        ("cast-iron-coated", "cast-iron-new"),
        ("cast-iron-new", "cast-iron-worn"),
        ("cast-iron-worn", "cast-iron-incrusted"),
        ("cast-iron-rusty", "cast-iron-very-rusty"),
        ("cast-iron-new", "water-main-tuberculated-slight"),
        ("water-main-tuberculated-slight", "water-main-tuberculated-moderate"),
        ("water-main-tuberculated-moderate", "water-main-tuberculated-appreciable"),
        ("water-main-tuberculated-appreciable", "water-main-tuberculated-severe"),
        ("brick-well-pointed", "brick-old"),
        ("concrete-smooth", "concrete-ordinary"),
        ("concrete-ordinary", "concrete-rough"),
        ("concrete-monolithic-steel-forms", "concrete-monolithic-rough-forms"),
        ("asbestos-cement-new", "asbestos-cement"),
        ("rubber-hose-smooth", "rubber-hose-wire"),
        ("wood-stave", "wood-stave-rough"),
    ],
)
def test_a_better_surface_is_smoother(pending: Database, smoother: str, rougher: str) -> None:
    (better,), (worse,) = pending.roughness(smoother), pending.roughness(rougher)

    assert better.value.to("mm").magnitude < worse.value.to("mm").magnitude
