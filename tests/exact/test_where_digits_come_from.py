"""No digit that a release freezes may come from a routine whose last bits depend on where it runs."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.conftest import PROJECT
from tests.rows import each

FOLDERS = ("refdb/recommend", "refdb/records", "refdb/exact")

NUMPY = {
    "abs", "append", "argsort", "array", "asarray", "bool_", "broadcast_arrays", "broadcast_to", "clip", "eye",
    "float64", "full", "full_like", "inf", "intp", "isnan", "max", "nan", "ones_like", "sqrt", "stack", "where",
    "zeros", "zeros_like",
}  # fmt: skip
"""What moves or compares numbers, or rounds each exactly once (IEEE 754). No sum, no product, no other function."""

MATH = {"ceil", "floor", "fsum", "inf", "isfinite", "lcm", "pi", "prod", "sqrt"}
STATISTICS = {"fmean", "median", "pstdev", "stdev", "variance"}
"""These go through exact sums or fractions and round once."""

REDUCTIONS = {"cumsum", "dot", "mean", "prod", "std", "sum", "trace", "var"}
"""Methods of arrays that add or multiply in an order of their own."""

ALLOWED = {"numpy": NUMPY, "math": MATH, "statistics": STATISTICS}
MADE_WITH_FUNCTIONS = {
    "make_form", "ScaledPolynomial", "StateFunction",
    "function_of_form", "function_of_grid", "function_of_reading", "function_of_row",
}  # fmt: skip
"""What evaluates forms, and takes the machine's elementary functions unless it is given others."""

ADDS_WHOLE_NUMBERS = "refdb/exact/chebyshev.py"
"""Its sums are of Python's whole numbers, which have no last bit to lose."""


def faults(source: str, file: str) -> list[str]:
    """Every place in a file that takes digits from the machine, each with its line and what is wrong there."""
    tree = ast.parse(source)
    names = _modules(tree)
    return [f"{file}:{line}: {what}" for node in ast.walk(tree) for line, what in _of(node, names, file)]


def _modules(tree: ast.AST) -> dict[str, str]:
    """What modules of numbers are called in a file."""
    found: dict[str, str] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {alias.asname or alias.name: alias.name for alias in node.names if alias.name in ALLOWED}
    return found


def _of(node: ast.AST, names: dict[str, str], file: str) -> Iterator[tuple[int, str]]:
    if isinstance(node, ast.BinOp | ast.AugAssign) and isinstance(node.op, ast.Pow | ast.MatMult):
        yield node.lineno, "a power goes through the machine's pow, a matrix product through BLAS"
    elif isinstance(node, ast.Import | ast.ImportFrom):
        yield from _of_import(node)
    elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in names:
        module = names[node.value.id]
        if node.attr not in ALLOWED[module]:
            yield node.lineno, f"{module}.{node.attr}"
    elif isinstance(node, ast.Call):
        yield from _of_call(node, names, file)


def _of_import(node: ast.Import | ast.ImportFrom) -> Iterator[tuple[int, str]]:
    if isinstance(node, ast.ImportFrom):
        module, imported = node.module or "", [alias.name for alias in node.names]
        if module in ALLOWED:
            yield from ((node.lineno, f"{module}.{name}") for name in imported if name not in ALLOWED[module])
            return
        modules = [module]
    else:
        modules = [alias.name for alias in node.names]
    for module in modules:
        if module.split(".")[0] in {"scipy", "cmath"} or module.startswith(("numpy.linalg", "numpy.polynomial")):
            yield node.lineno, module


def _of_call(node: ast.Call, names: dict[str, str], file: str) -> Iterator[tuple[int, str]]:
    called = node.func
    if isinstance(called, ast.Name):
        if called.id == "pow" or (called.id == "sum" and not _counts(node) and file != ADDS_WHOLE_NUMBERS):
            yield node.lineno, f"{called.id}: Python 3.12 adds doubles otherwise than Python 3.11 does"
        if called.id in MADE_WITH_FUNCTIONS and file.startswith("refdb/recommend") and not _exact(node):
            yield node.lineno, f"{called.id} without EXACT"
    elif isinstance(called, ast.Attribute) and called.attr in REDUCTIONS and not _of_module(called, names):
        yield node.lineno, f".{called.attr}()"


def _of_module(called: ast.Attribute, names: dict[str, str]) -> bool:
    return isinstance(called.value, ast.Name) and called.value.id in names


def _counts(call: ast.Call) -> bool:
    """Whether a sum is one of lengths, of comparisons that hold, or of 1 for each."""
    terms = call.args[0]
    if not isinstance(terms, ast.GeneratorExp):
        return False
    term = terms.elt
    lengths = isinstance(term, ast.Call) and isinstance(term.func, ast.Name) and term.func.id == "len"
    return lengths or isinstance(term, ast.Compare) or (isinstance(term, ast.Constant) and isinstance(term.value, int))


def _exact(call: ast.Call) -> bool:
    return any(isinstance(node, ast.Name) and node.id == "EXACT" for node in ast.walk(call))


@each(
    "source",
    [
        "x = y**2",
        "x = a @ b",
        "import numpy as np\nx = np.exp(y)",
        "import numpy as np\nx = np.dot(a, b)",
        "import numpy as np\nx = np.linalg.solve(a, b)",
        "import numpy as np\nx = np.polynomial.Polynomial.fit(a, b, 1)",
        "from numpy import exp",
        "from numpy.polynomial import polynomial",
        "import scipy.stats",
        "def late():\n    from scipy.stats import t",
        "import math\nx = math.log(y)",
        "import math\nx = math.hypot(y, z)",
        "from math import exp",
        "import statistics\nx = statistics.geometric_mean(y)",
        "x = sum(a * a for a in y)",
        "x = pow(y, 3)",
        "x = array.mean()",
        "form = make_form(spec)",
        "form = ScaledPolynomial(spec)",
        "function = StateFunction(spec, axes)",
        "function = function_of_row(body, table)",
    ],
)
def test_what_takes_digits_from_the_machine_is_found(source: str) -> None:
    (fault,) = faults(source, "refdb/recommend/invented.py")
    assert fault.startswith(f"refdb/recommend/invented.py:{len(source.splitlines())}: ")


@pytest.mark.parametrize(
    "source",
    [
        "x = y * y",
        "import numpy as np\nx = np.sqrt(y) * np.abs(z)",
        "import math\nx = math.sqrt(math.fsum(y))",
        "x = sum(len(group) for group in groups) + sum(1 for _ in groups) + sum(text is None for text in texts)",
        "form = make_form(spec, EXACT)",
        "function = StateFunction(spec, axes, functions=EXACT)",
    ],
)
def test_what_every_machine_rounds_alike_is_none_of_its_business(source: str) -> None:
    assert faults(source, "refdb/recommend/invented.py") == []


@pytest.mark.parametrize("folder", FOLDERS)
def test_no_digit_of_a_release_depends_on_the_machine(folder: str) -> None:
    files = sorted((PROJECT / folder).rglob("*.py"))
    assert files
    found = [fault for file in files for fault in faults(file.read_text(encoding="utf-8"), _name(file))]
    assert found == []


# A form may be evaluated where a row is derived: what it needs beside + - * / it is given.
def test_forms_leave_elementary_functions_to_what_they_are_given() -> None:
    files = [file for file in sorted((PROJECT / "refdb/forms").glob("*.py")) if file.name != "functions.py"]
    found = [fault for file in files for fault in faults(file.read_text(encoding="utf-8"), _name(file))]
    assert [fault for fault in found if not fault.endswith(("numpy.searchsorted", "math.e"))] == []


def _name(file: Path) -> str:
    return file.relative_to(PROJECT).as_posix()
