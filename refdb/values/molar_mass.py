"""Molar masses from formulas."""

from __future__ import annotations

import re

ATOMIC_WEIGHTS = {
    "H": 1.008,
    "Li": 6.94,
    "C": 12.011,
    "N": 14.007,
    "O": 15.999,
    "F": 18.998403163,
    "Na": 22.98976928,
    "Mg": 24.305,
    "Al": 26.9815385,
    "Si": 28.085,
    "P": 30.973761998,
    "S": 32.06,
    "Cl": 35.45,
    "K": 39.0983,
    "Ca": 40.078,
    "Cu": 63.546,
    "Br": 79.904,
}
"""Standard atomic weights of the IUPAC in g/mol (conventional ones where an interval is given), as the library
mendeleev 1.3.0 carries them. Ordinary materials differ from them by less than a part in a thousand."""

_TERM = re.compile(r"([A-Z][a-z]?)(\d*)")


def molar_mass(formula: str) -> float:
    """The molar mass in kg/mol of an undivided formula such as `C2H6O2`.

    Raises:
        KeyError: an element is not in the table.
    """
    return 1e-3 * sum(ATOMIC_WEIGHTS[element] * int(count or "1") for element, count in _TERM.findall(formula))
