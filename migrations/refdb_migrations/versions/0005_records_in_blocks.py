"""Records in blocks, repeated words as numbers

The tables of row versions, names and links are dropped and made anew; a release store is compiled afresh, never
upgraded. House tables are left alone.
"""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def _number_from(
    table: str, column: str, referred: str, nullable: bool = False
) -> tuple[sa.Column[int], sa.ForeignKeyConstraint]:
    """A column that holds the number by which another table knows a row of its own."""
    key = "ordinal" if referred == "release" else "number"
    return (
        sa.Column(column, sa.Integer(), nullable=nullable),
        sa.ForeignKeyConstraint(
            [column], [f"{referred}.{key}"], name=op.f(f"fk_{table}_{column}_{referred}"), ondelete="RESTRICT"
        ),
    )


def upgrade() -> None:
    for table in ("link", "name", "row_version"):
        op.drop_table(table)
    op.create_table(
        "word",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("text", sa.String(length=120), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_word")),
        sa.UniqueConstraint("text", name=op.f("uq_word_text")),
        info={"side": "reference"},
    )
    op.create_table(
        "block",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("packed", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_block")),
        info={"side": "reference"},
    )
    op.create_table(
        "row_version",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        *_number_from("row_version", "row", "word"),
        *_number_from("row_version", "since", "release"),
        *_number_from("row_version", "until", "release", nullable=True),
        *_number_from("row_version", "kind", "word"),
        *_number_from("row_version", "subject", "word", nullable=True),
        *_number_from("row_version", "property", "word", nullable=True),
        *_number_from("row_version", "source", "word", nullable=True),
        sa.Column("digest", sa.LargeBinary(length=32), nullable=False),
        *_number_from("row_version", "block", "block"),
        sa.Column("start", sa.Integer(), nullable=False),
        sa.Column("length", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_row_version")),
        info={"side": "reference"},
    )
    op.create_index("ix_row_version_kind_subject", "row_version", ["kind", "subject"], unique=False)
    op.create_index("ix_row_version_row_since", "row_version", ["row", "since"], unique=False)
    op.create_table(
        "name",
        sa.Column("normal", sa.String(length=200), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("text", sa.String(length=200), nullable=False),
        *_number_from("name", "designation_kind", "word"),
        *_number_from("name", "target_kind", "word"),
        *_number_from("name", "target", "word"),
        *_number_from("name", "since", "release"),
        *_number_from("name", "until", "release", nullable=True),
        sa.PrimaryKeyConstraint("normal", "number", name=op.f("pk_name")),
        info={"side": "reference"},
        sqlite_with_rowid=False,
    )
    op.create_table(
        "link",
        *_number_from("link", "rests_on", "word"),
        *_number_from("link", "version", "row_version"),
        *_number_from("link", "role", "word"),
        sa.PrimaryKeyConstraint("rests_on", "version", "role", name=op.f("pk_link")),
        info={"side": "reference"},
        sqlite_with_rowid=False,
    )


def downgrade() -> None:
    for table in ("link", "name", "row_version", "block", "word"):
        op.drop_table(table)
    op.create_table(
        "link",
        sa.Column("digest", sa.String(length=71), nullable=False),
        sa.Column("rests_on", sa.String(length=120), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.PrimaryKeyConstraint("digest", "rests_on", "role", name=op.f("pk_link")),
        info={"side": "reference"},
    )
    op.create_index("ix_link_rests_on", "link", ["rests_on"], unique=False)
    op.create_table(
        "name",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("normal", sa.String(length=200), nullable=False),
        sa.Column("text", sa.String(length=200), nullable=False),
        sa.Column("designation_kind", sa.String(length=32), nullable=False),
        sa.Column("target_kind", sa.String(length=16), nullable=False),
        sa.Column("target", sa.String(length=120), nullable=False),
        *_number_from("name", "since", "release"),
        *_number_from("name", "until", "release", nullable=True),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_name")),
        info={"side": "reference"},
    )
    op.create_index("ix_name_normal", "name", ["normal"], unique=False)
    op.create_table(
        "row_version",
        sa.Column("digest", sa.String(length=71), nullable=False),
        *_number_from("row_version", "since", "release"),
        *_number_from("row_version", "until", "release", nullable=True),
        sa.Column("row", sa.String(length=120), nullable=False),
        sa.Column("kind", sa.String(length=32), nullable=False),
        sa.Column("subject", sa.String(length=120), nullable=True),
        sa.Column("property", sa.String(length=120), nullable=True),
        sa.Column("source", sa.String(length=120), nullable=True),
        sa.Column("body", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("digest", "since", name=op.f("pk_row_version")),
        info={"side": "reference"},
    )
    op.create_index("ix_row_version_kind_subject", "row_version", ["kind", "subject"], unique=False)
    op.create_index("ix_row_version_row_since", "row_version", ["row", "since"], unique=False)
