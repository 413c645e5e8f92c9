"""Looking up: names to rows, states to numbers, out of one read-only file and dictionaries."""

from refdb.lookup.store import EarlierCutInfo, ReleaseInfo, ReleaseStore, StoredRecord

__all__ = ["EarlierCutInfo", "ReleaseInfo", "ReleaseStore", "StoredRecord"]
