"""Building: from the text to the compiled store, cutting releases, verifying them."""

from refdb.build.carry import carried_forward
from refdb.build.compile import build
from refdb.build.release import changes_since, cut_release, derive_records
from refdb.build.verify import verify

__all__ = ["build", "carried_forward", "changes_since", "cut_release", "derive_records", "verify"]
