"""The forms, by versioned name."""

from __future__ import annotations

from refdb.forms.base import Form, FormSpec
from refdb.forms.constant import Constant
from refdb.forms.linear import TemperatureCoefficient
from refdb.forms.polynomial import Polynomial
from refdb.forms.tabulated import HermiteTable

FORMS: dict[str, type[Constant] | type[TemperatureCoefficient] | type[Polynomial] | type[HermiteTable]] = {
    form.name: form for form in (Constant, TemperatureCoefficient, Polynomial, HermiteTable)
}


def make_form(spec: FormSpec) -> Form:
    """The form that a stored description describes.

    Raises:
        KeyError: no form has that name, or the description lacks a part.
        ValueError: a number in it is not one.
    """
    return FORMS[spec["name"]](spec)
