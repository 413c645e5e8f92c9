"""Alembic's environment: migrations run on the connection they are given, and check what they leave behind."""

from alembic import context
from sqlalchemy import Connection, text

from refdb.store.models import Base


def run(connection: Connection) -> None:
    """Run the revisions; on SQLite with foreign keys off while tables are rebuilt, and checked afterwards.

    Rebuilding a parent table with foreign keys on silently empties its children, so they must be off.
    """
    sqlite = connection.dialect.name == "sqlite"
    if sqlite and connection.execute(text("PRAGMA foreign_keys")).scalar():
        raise RuntimeError("turn PRAGMA foreign_keys off before migrating: rebuilding a table would empty its children")
    context.configure(
        connection=connection,
        target_metadata=Base.metadata,
        render_as_batch=True,
        transactional_ddl=True,
    )
    with context.begin_transaction():
        context.run_migrations()
    if sqlite:
        dangling = connection.execute(text("PRAGMA foreign_key_check")).fetchall()
        if dangling:
            raise RuntimeError(f"the migration left rows that refer to nothing: {dangling[:5]}")


run(context.config.attributes["connection"])
