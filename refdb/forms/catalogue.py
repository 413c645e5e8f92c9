"""The forms, by versioned name."""

from __future__ import annotations

from typing import Any

from refdb.forms.absorption import ClassicalAbsorption
from refdb.forms.base import Form, FormSpec
from refdb.forms.expansion import Expansion
from refdb.forms.functions import PLAIN, Functions
from refdb.forms.inner import PARTS
from refdb.forms.quotient import Quotient

# Each takes as many arguments as it has variables, which the types here cannot express.
FORMS: dict[str, type[Any]] = PARTS | {form.name: form for form in (Quotient, Expansion, ClassicalAbsorption)}


def make_form(spec: FormSpec, functions: Functions = PLAIN) -> Form:
    """The form that a stored description describes.

    Args:
        functions: the elementary functions that it uses; the machine's to answer, those of `refdb.exact` to derive.

    Raises:
        KeyError: no form has that name, or the description lacks a part.
        ValueError: a text in it is not a number.
    """
    form: Form = FORMS[spec["name"]](spec, functions)
    return form
