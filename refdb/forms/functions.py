"""The elementary functions that forms use besides + - * and /."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, Protocol


class Functions(Protocol):
    """The elementary functions that a form is given when it is made; each takes a float or a numpy array.

    Answers use the machine's, `PLAIN`. Values that a release freezes are derived with functions that every machine
    rounds alike (`refdb.exact`).
    """

    def exp(self, x: Any, /) -> Any:
        """e to the power `x`."""
        ...

    def power(self, base: Any, exponent: Any, /) -> Any:
        """`base` to the power `exponent`."""
        ...


class Plain:
    """The machine's functions: Python's for a float, numpy's for an array. Their last bit depends on the machine."""

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
