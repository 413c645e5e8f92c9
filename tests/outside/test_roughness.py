"""Recommended roughness (from EPANET 2.2 and HR Wallingford), compared with documents that are not in the ledger.

Roughness is known to a factor, not to a percent: White states 30 to 70 % for his table (value from memory).
"""

from __future__ import annotations

import math

import pytest

from refdb.answer import Database

FACTOR = 2.0

# Binder, R. C., Fluid Mechanics (1973), new pipes, as tabulated at efunda.com/formulae/fluids/roughness.cfm.
BINDER = "Binder 1973"
# White, F. M., Fluid Mechanics, Table 6.1, as carried by public code (which credits another textbook with the figures)
# and by nafta.wiki/display/GLOSSARY/Surface+roughness.
WHITE = "White, Table 6.1"
# Moody, L. F., Trans. ASME 66, 671 (1944): 0.00015 ft, as tabulated at engineersedge.com, Duct Roughness Factors.
MOODY = "Moody 1944"

# Surface, document, roughness in mm.
PRINTED = [
    ("steel-new", BINDER, 0.045),
    ("steel-new", WHITE, 0.046),
    ("steel-new", MOODY, 0.00015 * 304.8),
    ("cast-iron-new", BINDER, 0.26),
    ("cast-iron-new", WHITE, 0.26),
    ("cast-iron-coated", BINDER, 0.12),
    ("cast-iron-coated", WHITE, 0.12),
    ("galvanised-iron-new", BINDER, 0.15),
    ("galvanised-iron-new", WHITE, 0.15),
    ("wrought-iron-new", BINDER, 0.045),
    ("wrought-iron-new", WHITE, 0.046),
    ("plastic-new", WHITE, 0.0015),
]


@pytest.mark.parametrize(("surface", "document", "millimetres"), PRINTED)
def test_the_recommended_roughness_is_within_a_factor_of_two_of_an_independent_document(
    database: Database, surface: str, document: str, millimetres: float
) -> None:
    (answer,) = database.roughness(surface)

    assert 1.0 / FACTOR <= answer.value.to("mm").magnitude / millimetres <= FACTOR, document


# Surface, document, printed range in mm.
PRINTED_RANGES = [
    ("concrete-or-concrete-lined-new", BINDER, 0.3, 3.0),
    ("wood-stave-planed", BINDER, 0.2, 0.9),
]


@pytest.mark.parametrize(("surface", "document", "low", "high"), PRINTED_RANGES)
def test_the_recommended_roughness_is_within_a_factor_of_two_of_the_middle_of_a_printed_range(
    database: Database, surface: str, document: str, low: float, high: float
) -> None:
    (answer,) = database.roughness(surface)
    middle = math.sqrt(low * high)

    assert 1.0 / FACTOR <= answer.value.to("mm").magnitude / middle <= FACTOR, document
    least, most = answer.printed_range or (answer.value, answer.value)
    assert least.to("mm").magnitude < high, document
    assert low < most.to("mm").magnitude, document


# Common practice, no source: rust, tubercles and age roughen a pipe; a coating smooths it.
@pytest.mark.parametrize(
    ("smoother", "rougher"),
    [
        ("steel-new", "steel-rusty"),
        ("wrought-iron-new", "wrought-iron-rusty"),
        ("cast-iron-coated", "cast-iron-new"),
        ("cast-iron-new", "water-main-tuberculated-slight"),
        ("water-main-tuberculated-slight", "water-main-tuberculated-moderate"),
        ("water-main-tuberculated-moderate", "water-main-tuberculated-appreciable"),
        ("water-main-tuberculated-appreciable", "water-main-tuberculated-severe"),
        ("brick-well-pointed", "brick-old"),
        ("concrete-monolithic-steel-forms", "concrete-monolithic-rough-forms"),
    ],
)
def test_a_better_surface_is_smoother(database: Database, smoother: str, rougher: str) -> None:
    (better,), (worse,) = database.roughness(smoother), database.roughness(rougher)

    assert better.value.to("mm").magnitude < worse.value.to("mm").magnitude
