"""Forms inside another form; their arguments are given by name."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from refdb.forms.base import Form, FormSpec
from refdb.forms.constant import Constant
from refdb.forms.functions import PLAIN, Functions
from refdb.forms.linear import TemperatureCoefficient
from refdb.forms.oil import OilExpansion, Walther
from refdb.forms.polynomial import Polynomial
from refdb.forms.power_sum import PowerSum
from refdb.forms.scaled import ScaledPolynomial
from refdb.forms.scales import to_scale
from refdb.forms.tabulated import HermiteTable

PARTS: dict[str, type[Any]] = {
    form.name: form
    for form in (
        Constant,
        TemperatureCoefficient,
        Polynomial,
        HermiteTable,
        ScaledPolynomial,
        PowerSum,
        OilExpansion,
        Walther,
    )
}
"""The forms that may stand inside another, by versioned name."""


class InnerForm:
    """The form of one row inside the form of another.

    Attributes:
        form: the form itself.
        variables: the parts of the state on which it depends.
        saturation: the form of the saturation pressure at which its domain begins; None if it has none.
    """

    __slots__ = ("_per_degree", "_scale", "form", "saturation", "variables")

    def __init__(self, spec: FormSpec, functions: Functions = PLAIN) -> None:
        self.form: Form = PARTS[spec["name"]](spec, functions)
        self.variables: tuple[str, ...] = tuple(self.form.variables)
        self._scale: str | None = spec.get("variable", {}).get("scale")
        self._per_degree = float(to_scale(1.0, self._scale))
        self.saturation: ScaledPolynomial | None = getattr(self.form, "saturation", None)

    def value(self, state: Mapping[str, Any]) -> Any:
        """The value at a state: an argument by name for each variable, in the unit of the description's axes."""
        return self.form.value(*self._arguments(state))

    def slopes(self, state: Mapping[str, Any]) -> dict[str, Any]:
        """The derivative along each variable, by name; a temperature is in degC on ITS-90."""
        slopes = dict(zip(self.variables, self.form.slopes(*self._arguments(state)), strict=True))
        if "temperature" in slopes and self._scale is not None:
            slopes["temperature"] = slopes["temperature"] * self._per_degree
        return slopes

    def _arguments(self, state: Mapping[str, Any]) -> list[Any]:
        return [to_scale(state[name], self._scale) if name == "temperature" else state[name] for name in self.variables]


class FromSaturation:
    """Base of forms made of parts: if the domain of a part begins at saturation, so does that of the whole.

    Attributes:
        saturation: the form of the saturation pressure at which the domain begins; None if no part has one.
    """

    __slots__ = ()

    saturation: ScaledPolynomial | None

    def boiling(self, temperature: Any) -> Any:
        """The saturation pressure at a temperature; only for a form that has `saturation`."""
        assert self.saturation is not None  # noqa: S101 - asked only of a form that begins at saturation
        return self.saturation.value(temperature)
