"""The two stores: tables, engines and migrations.

The *release store* is one compiled SQLite file that holds every release and is only ever read. The *house store* is
what an organisation writes; SQLite by default, PostgreSQL when shared. Both have the same tables from the same
migrations; each table is marked `reference` or `house`, and no foreign key crosses between them.
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
