"""The Alembic chain for both stores. Read DEVELOPERS.md, "Change a rule, a form or a table", first."""
