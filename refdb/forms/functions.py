"""The elementary functions that forms evaluate beside + - * and /."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, Protocol


class Functions(Protocol):
    """Where a form takes its elementary functions from; each works on a float and on a numpy array alike.

    Answers take the machine's, `PLAIN`. What is frozen in a release is derived with functions that every machine rounds
    alike (`refdb.exact`); a form is given them when it is made.
    """

    def exp(self, x: Any, /) -> Any:
        """e to the power `x`."""
        ...

    def power(self, base: Any, exponent: Any, /) -> Any:
        """`base` to the power `exponent`."""
        ...


class Plain:
    """Those of the machine: Python's for a float, numpy's for an array. Their last bit depends on the machine."""

    @staticmethod
    def exp(x: Any, /) -> Any:
        """e to the power `x`."""
        if isinstance(x, float):
            return math.exp(x)
        import numpy as np

        exponential: Callable[[Any], Any] = np.exp
        return exponential(x)

    @staticmethod
    def power(base: Any, exponent: Any, /) -> Any:
        """`base` to the power `exponent`."""
        return base**exponent


PLAIN = Plain()
