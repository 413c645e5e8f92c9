"""Forms: the versioned mathematical functions in which recommended values are stored and evaluated.

The behaviour of a released form never changes; a better one gets the next version number. Every form takes floats and
numpy arrays, so that one value and a hundred thousand come from the same code.
"""

from refdb.forms.base import Form, FormSpec
from refdb.forms.catalogue import FORMS, make_form
from refdb.forms.functions import PLAIN, Functions
from refdb.forms.scaled import ScaledPolynomial

__all__ = ["FORMS", "PLAIN", "Form", "FormSpec", "Functions", "ScaledPolynomial", "make_form"]
