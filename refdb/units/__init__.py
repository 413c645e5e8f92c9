"""Units and quantities: a closed, case-exact table; no expression evaluator ever sees the text of a user."""

from refdb.units.quantity import Quantity, parse_quantity, read_quantity, significant, whole_number, with_uncertainty
from refdb.units.table import Unit, UnitTable, printable, units

__all__ = [
    "Quantity",
    "Unit",
    "UnitTable",
    "parse_quantity",
    "printable",
    "read_quantity",
    "significant",
    "units",
    "whole_number",
    "with_uncertainty",
]
