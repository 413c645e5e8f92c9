"""The first tables

A revision may drop and recreate reference tables, and must preserve house data on SQLite and PostgreSQL alike.
Test it on populated house tables of both engines before it is released.
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "house_value",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("subject", sa.String(length=120), nullable=False),
        sa.Column("property", sa.String(length=120), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_house_value")),
        info={"side": "house"},
    )
    op.create_index("ix_house_value_subject_property", "house_value", ["subject", "property"], unique=False)

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
        "release",
        sa.Column("ordinal", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("label", sa.String(length=12), nullable=False),
        sa.Column("cut_on", sa.String(length=10), nullable=False),
        sa.Column("digest", sa.String(length=71), nullable=False),
        sa.Column("rows", sa.Integer(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("ordinal", name=op.f("pk_release")),
        sa.UniqueConstraint("label", name=op.f("uq_release_label")),
        info={"side": "reference"},
    )
    op.create_table(
        "house_value_version",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("house_value", sa.String(length=36), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("status", sa.String(length=16), nullable=False),
        sa.Column("entered_by", sa.String(length=120), nullable=False),
        sa.Column("entered_at", sa.String(length=32), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "status IN ('draft', 'reviewed', 'withdrawn')", name=op.f("ck_house_value_version_status_known")
        ),
        sa.CheckConstraint("version > 0", name=op.f("ck_house_value_version_version_positive")),
        sa.ForeignKeyConstraint(
            ["house_value"],
            ["house_value.id"],
            name=op.f("fk_house_value_version_house_value_house_value"),
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_house_value_version")),
        sa.UniqueConstraint("house_value", "version", name=op.f("uq_house_value_version_house_value_version")),
        info={"side": "house"},
    )
    op.create_table(
        "name",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("normal", sa.String(length=200), nullable=False),
        sa.Column("text", sa.String(length=200), nullable=False),
        sa.Column("designation_kind", sa.String(length=32), nullable=False),
        sa.Column("target_kind", sa.String(length=16), nullable=False),
        sa.Column("target", sa.String(length=120), nullable=False),
        sa.Column("since", sa.Integer(), nullable=False),
        sa.Column("until", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(
            ["since"], ["release.ordinal"], name=op.f("fk_name_since_release"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["until"], ["release.ordinal"], name=op.f("fk_name_until_release"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_name")),
        info={"side": "reference"},
    )
    op.create_index("ix_name_normal", "name", ["normal"], unique=False)

    op.create_table(
        "row_version",
        sa.Column("digest", sa.String(length=71), nullable=False),
        sa.Column("since", sa.Integer(), nullable=False),
        sa.Column("until", sa.Integer(), nullable=True),
        sa.Column("row", sa.String(length=120), nullable=False),
        sa.Column("kind", sa.String(length=32), nullable=False),
        sa.Column("subject", sa.String(length=120), nullable=True),
        sa.Column("property", sa.String(length=120), nullable=True),
        sa.Column("source", sa.String(length=120), nullable=True),
        sa.Column("body", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["since"], ["release.ordinal"], name=op.f("fk_row_version_since_release"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["until"], ["release.ordinal"], name=op.f("fk_row_version_until_release"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("digest", "since", name=op.f("pk_row_version")),
        info={"side": "reference"},
    )
    op.create_index("ix_row_version_kind_subject", "row_version", ["kind", "subject"], unique=False)
    op.create_index("ix_row_version_row_since", "row_version", ["row", "since"], unique=False)


def downgrade() -> None:
    op.drop_index("ix_row_version_row_since", "row_version")
    op.drop_index("ix_row_version_kind_subject", "row_version")

    op.drop_table("row_version")
    op.drop_index("ix_name_normal", "name")

    op.drop_table("name")
    op.drop_table("house_value_version")
    op.drop_table("release")
    op.drop_index("ix_link_rests_on", "link")

    op.drop_table("link")
    op.drop_index("ix_house_value_subject_property", "house_value")

    op.drop_table("house_value")
