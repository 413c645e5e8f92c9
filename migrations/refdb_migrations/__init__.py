"""The Alembic chain for both stores. Read DEVELOPERS.md, "Changing a table", before adding a revision."""
