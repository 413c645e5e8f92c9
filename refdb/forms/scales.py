"""Temperature scales. States are on ITS-90; some printed equations are on an older scale."""

from __future__ import annotations

from typing import Any

IPTS68_PER_ITS90 = 1.00024
"""Between 0 and 100 degC, t68 = 1.00024 t90 in degrees Celsius.

Saunders, P. M., The International Temperature Scale of 1990, WOCE Newsletter 10 (1990); the factor of the
oceanographic standards. Compared with the published table of t90 - t68 it is right to the printed digit up to 40 degC
and 2.4 mK too small at 90 and 100 degC, which is 0.002 m/s in the sound speed of water.
"""


def to_scale(celsius: Any, scale: str | None) -> Any:
    """A temperature in degC on ITS-90 expressed on the scale of an equation.

    Raises:
        ValueError: the scale is unknown.
    """
    if scale is None or scale == "ITS-90":
        return celsius
    if scale == "IPTS-68":
        return celsius * IPTS68_PER_ITS90
    raise ValueError(f"the temperature scale {scale} has no conversion")
