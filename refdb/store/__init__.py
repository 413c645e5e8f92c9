"""The two stores: tables, engines and migrations.

The *release store* is one compiled SQLite file that holds every release and is only read. The *house store* holds what
an organisation writes, in SQLite by default and in PostgreSQL when shared. Both have the same tables, made by the same
migrations. Each table is marked `reference` or `house`, and no foreign key connects the two kinds.
"""

from refdb.store.migrate import alembic_config, head_revision, upgrade
from refdb.store.models import (
    Base,
    Block,
    EarlierCut,
    EarlierCutRow,
    HouseKey,
    HouseValue,
    HouseValueVersion,
    HouseWrite,
    Link,
    Name,
    Release,
    ReleaseCorrection,
    RowVersion,
    Signature,
    Word,
    tables_of,
)

__all__ = [
    "Base",
    "Block",
    "EarlierCut",
    "EarlierCutRow",
    "HouseKey",
    "HouseValue",
    "HouseValueVersion",
    "HouseWrite",
    "Link",
    "Name",
    "Release",
    "ReleaseCorrection",
    "RowVersion",
    "Signature",
    "Word",
    "alembic_config",
    "head_revision",
    "tables_of",
    "upgrade",
]
