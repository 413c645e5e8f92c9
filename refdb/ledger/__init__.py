"""The ledger: what published documents say, read from the text of `sources/` and `shared/` and checked."""

from refdb.ledger.load import Ledger, load_ledger

__all__ = ["Ledger", "load_ledger"]
