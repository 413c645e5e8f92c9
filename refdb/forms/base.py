"""The interface of every form."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol

FormSpec = Mapping[str, Any]
"""The stored description of a form: its `name` and its own fields; numbers are text."""


class Form(Protocol):
    """A function of the state. Arguments come in the order of `variables`, in the units the description names."""

    @property
    def variables(self) -> tuple[str, ...]:
        """The parts of the state that it depends on."""
        ...

    def value(self, *arguments: Any) -> Any:
        """The property at a state; each argument a float or an array."""
        ...

    def slopes(self, *arguments: Any) -> tuple[Any, ...]:
        """The derivative with respect to each variable, the others held constant; None where it is not known."""
        ...
