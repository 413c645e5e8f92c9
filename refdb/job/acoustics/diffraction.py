"""What a beam loses by spreading from one round element to another of the same size that faces it."""

from __future__ import annotations

import math


def piston_loss(radius: float, distance: float, wavelength: float) -> float:
    """The loss against a beam that stays as wide as the element, dB.

    The mean pressure over the receiver follows from Lommel's diffraction integral: with s = z λ/a²,
    D = 1 - exp(-2πi/s) (J0(2π/s) + i J1(2π/s)), of Rogers and Van Buren, J. Acoust. Soc. Am. 55, 724 (1974), by memory;
    a test integrates the field of the piston instead.

    Args:
        radius: a, of both elements, m.
        distance: z, between them, m.
        wavelength: λ, m.
    """
    from scipy.special import jv

    turns = 2.0 * math.pi * radius**2 / (distance * wavelength)
    field = 1.0 - complex(math.cos(turns), -math.sin(turns)) * complex(jv(0, turns), jv(1, turns))
    return -20.0 * math.log10(abs(field))
