"""The forms, by versioned name."""

from __future__ import annotations

from typing import Any

from refdb.forms.base import Form, FormSpec
from refdb.forms.constant import Constant
from refdb.forms.linear import TemperatureCoefficient
from refdb.forms.oil import OilExpansion, Walther
from refdb.forms.polynomial import Polynomial
from refdb.forms.power_sum import PowerSum
from refdb.forms.scaled import ScaledPolynomial
from refdb.forms.tabulated import HermiteTable

# Each takes as many arguments as it has variables, which no type of ours can say.
FORMS: dict[str, type[Any]] = {
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


def make_form(spec: FormSpec) -> Form:
    """The form that a stored description describes.

    Raises:
        KeyError: no form has that name, or the description lacks a part.
        ValueError: a number in it is not one.
    """
    form: Form = FORMS[spec["name"]](spec)
    return form
