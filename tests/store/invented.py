"""Invented house values and an invented revision, for the tests of the house store."""

from __future__ import annotations

import os
import uuid
from pathlib import Path
from typing import Any

from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, create_engine, text

import refdb_migrations
from refdb.store.house import house_engine
from refdb.store.migrate import alembic_config, upgrade

SHIPPED = ScriptDirectory.from_config(alembic_config())
REVISIONS = [script.revision for script in SHIPPED.walk_revisions()][::-1]
FIRST, NEWEST, FURTHER = REVISIONS[0], REVISIONS[-1], "further"
DONE = "seen by the invented revision"

ODD_TEXT = "Größe 'quoted' \"twice\" \\ 水管 e\u0301 🚰 \u202bأنبوب\u202c 50 %s :name\tand\nmore "

# The columns of the first revision. A later one that renames one of them changes this list, and says what became of it.
COLUMNS = {
    "house_value": ("id", "subject", "property", "created_at"),
    "house_value_version": ("number", "house_value", "version", "status", "entered_by", "entered_at", "body"),
}

Rows = dict[str, list[tuple[Any, ...]]]

ENDINGS = {
    "passes": "pass",
    "raises": "destroy()\n    raise RuntimeError('the invented revision fails')",
    "asks for a column that is not there": "destroy()\n    op.execute('UPDATE house_value SET not_there = 1')",
    "dies": "destroy()\n    os._exit(9)",
    "waits": "wait()",
}

REVISION = """
import os
import time
from pathlib import Path

import sqlalchemy as sa
from alembic import op

revision = "{further}"
down_revision = "{newest}"
branch_labels = None
depends_on = None


def destroy():
    op.execute("DELETE FROM house_value_version")


def wait():
    folder = Path(__file__).parent
    (folder / "begun").touch()
    while not (folder / "go on").exists():
        time.sleep(0.02)


def upgrade():
    with op.batch_alter_table("house_value") as batch:
        batch.add_column(sa.Column("invented", sa.String(40), nullable=False, server_default="as it was"))
        batch.alter_column("subject", existing_type=sa.String(120), type_=sa.String(200))
    op.execute("UPDATE house_value SET invented = '{done}'")
    op.create_table("invented", sa.Column("id", sa.Integer, primary_key=True))
    {ending}


def downgrade():
    op.drop_table("invented")
    with op.batch_alter_table("house_value") as batch:
        batch.drop_column("invented")
        batch.alter_column("subject", existing_type=sa.String(200), type_=sa.String(120))
"""


def write_revision(folder: Path, ending: str) -> None:
    """Write the invented revision; on SQLite it rebuilds the table that others refer to."""
    written = REVISION.format(further=FURTHER, newest=NEWEST, done=DONE, ending=ENDINGS[ending])
    (folder / "further.py").write_text(written, encoding="utf-8")


def chain_with(folder: Path) -> Config:
    """The configuration of the shipped chain, with the revisions of one more folder."""
    config = alembic_config()
    shipped = Path(refdb_migrations.__file__).parent / "versions"
    config.set_main_option("version_locations", os.pathsep.join([str(shipped), str(folder)]))
    return config


def invented_rows() -> Rows:
    """Odd, long and many house values, in the columns of the first revision."""
    values: list[tuple[Any, ...]] = []
    versions: list[tuple[Any, ...]] = []
    for number in range(40):
        identifier = str(uuid.UUID(int=number))
        subject = ("水" * 120, "a" * 120, "", ODD_TEXT, f"carbon-steel-{number}")[min(number, 4)]
        values.append((identifier, subject, "longitudinal_speed", "2026-01-02T03:04:05Z"))
        for version in range(1, 301 if number == 0 else 4):
            status = ("draft", "reviewed", "withdrawn")[version % 3]
            author = "🚰" * 120 if number == 1 else "Ünal Ørsted"
            body = "長" * 200_000 if (number, version) == (1, 1) else f'{{"text": "{ODD_TEXT}{version}"}}'
            line = len(versions) + 1
            versions.append((line, identifier, version, status, author, "2026-01-02T03:04:05.678Z", body))
    return {"house_value": values, "house_value_version": versions}


def populate(connection: Connection) -> Rows:
    """Fill a store at its first revision with the invented values, which are given back."""
    rows = invented_rows()
    for table, columns in COLUMNS.items():
        named = ", ".join(f":{column}" for column in columns)
        connection.execute(
            text(f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({named})"),
            [dict(zip(columns, row, strict=True)) for row in rows[table]],
        )
    if connection.dialect.name == "postgresql":
        connection.execute(
            text("SELECT setval(pg_get_serial_sequence('house_value_version', 'number'), :last)"),
            {"last": len(rows["house_value_version"])},
        )
    return rows


def filled(url: str) -> Rows:
    """Fill the empty store at an address and bring it to the newest revision that ships."""
    engine = house_engine(url)
    with engine.begin() as connection:
        upgrade(connection, FIRST)
        rows = populate(connection)
        upgrade(connection, NEWEST)
    engine.dispose()
    return rows


def rows_of(connection: Connection) -> Rows:
    """Every house value of a store, in the columns of the first revision."""
    return {
        table: sorted(
            tuple(row) for row in connection.execute(text(f"SELECT {', '.join(columns)} FROM {table}")).fetchall()
        )
        for table, columns in COLUMNS.items()
    }


def rows_in(url: str) -> Rows:
    """Every house value of the store at an address, in the columns of the first revision."""
    engine = create_engine(url)
    with engine.connect() as connection:
        rows = rows_of(connection)
    engine.dispose()
    return rows
