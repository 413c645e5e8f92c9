"""Units and quantities, from a closed, case-exact table. A user's text never reaches an expression evaluator."""

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
