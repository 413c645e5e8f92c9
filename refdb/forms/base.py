"""What every form offers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar, Protocol

FormSpec = Mapping[str, Any]
"""The stored description of a form: `name`, and what that form needs; numbers are text."""


class Form(Protocol):
    """A function of the state. `x` is in the unit and temperature scale that the form's description names."""

    name: ClassVar[str]

    def value(self, x: Any) -> Any:
        """The property at `x`, a float or an array."""
        ...

    def slope(self, x: Any) -> Any:
        """The derivative of the property with respect to `x`."""
        ...
