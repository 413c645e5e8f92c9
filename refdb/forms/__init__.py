"""Forms: the versioned mathematical shapes in which a recommended value is stored and evaluated.

A released form's behaviour never changes; a better one gets the next version number. Every form works on a float or
on a numpy array alike, with plain arithmetic, so one value and a hundred thousand come from the same kernel.
"""

from refdb.forms.base import Form, FormSpec
from refdb.forms.catalogue import FORMS, make_form
from refdb.forms.functions import PLAIN, Functions
from refdb.forms.scaled import ScaledPolynomial

__all__ = ["FORMS", "PLAIN", "Form", "FormSpec", "Functions", "ScaledPolynomial", "make_form"]
