"""Bringing a store to the newest revision of the one Alembic chain."""

from __future__ import annotations

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import Connection


def alembic_config() -> Config:
    """Alembic's configuration; the revisions ship inside the package `refdb_migrations`."""
    config = Config()
    config.set_main_option("script_location", "refdb_migrations:")
    config.set_main_option("path_separator", "os")
    return config


def head_revision() -> str:
    """The newest revision of the chain."""
    head = ScriptDirectory.from_config(alembic_config()).get_current_head()
    if head is None:
        raise RuntimeError("the migration chain is empty")
    return head


def upgrade(connection: Connection, revision: str = "head") -> None:
    """Run every missing revision up to `revision`, on an open connection and in its transaction."""
    config = alembic_config()
    config.attributes["connection"] = connection
    command.upgrade(config, revision)
