"""Upgrades a store to the newest revision of the Alembic chain."""

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


def known_revisions() -> list[str]:
    """Every revision of the chain, oldest first."""
    return [script.revision for script in ScriptDirectory.from_config(alembic_config()).walk_revisions()][::-1]


def head_revision() -> str:
    """The newest revision of the chain."""
    head = ScriptDirectory.from_config(alembic_config()).get_current_head()
    if head is None:
        raise RuntimeError("the migration chain is empty")
    return head


def upgrade(connection: Connection, revision: str = "head") -> None:
    """Run every missing revision up to `revision` on an open connection, within its transaction."""
    command.upgrade(_config_on(connection), revision)


def take_down(connection: Connection) -> None:
    """Drop every table of the chain on an open connection, within its transaction."""
    command.downgrade(_config_on(connection), "base")


def _config_on(connection: Connection) -> Config:
    config = alembic_config()
    config.attributes["connection"] = connection
    return config
