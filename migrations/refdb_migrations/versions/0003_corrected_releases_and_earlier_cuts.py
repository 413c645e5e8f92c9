"""Releases that correct others, and earlier cuts under a label

Reference tables alone; house data are not touched.
"""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "release_correction",
        sa.Column("release", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("corrected", sa.Integer(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["release"], ["release.ordinal"], name=op.f("fk_release_correction_release_release"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["corrected"],
            ["release.ordinal"],
            name=op.f("fk_release_correction_corrected_release"),
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("release", "number", name=op.f("pk_release_correction")),
        info={"side": "reference"},
    )
    op.create_table(
        "earlier_cut",
        sa.Column("digest", sa.String(length=71), nullable=False),
        sa.Column("release", sa.Integer(), nullable=False),
        sa.Column("cut_on", sa.String(length=10), nullable=False),
        sa.Column("superseded_on", sa.String(length=10), nullable=False),
        sa.Column("rows_digest", sa.String(length=71), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["release"], ["release.ordinal"], name=op.f("fk_earlier_cut_release_release"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("digest", name=op.f("pk_earlier_cut")),
        info={"side": "reference"},
    )
    op.create_table(
        "earlier_cut_row",
        sa.Column("cut", sa.String(length=71), nullable=False),
        sa.Column("row", sa.String(length=120), nullable=False),
        sa.Column("digest", sa.String(length=71), nullable=False),
        sa.ForeignKeyConstraint(
            ["cut"], ["earlier_cut.digest"], name=op.f("fk_earlier_cut_row_cut_earlier_cut"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("cut", "row", name=op.f("pk_earlier_cut_row")),
        info={"side": "reference"},
    )


def downgrade() -> None:
    op.drop_table("earlier_cut_row")
    op.drop_table("earlier_cut")
    op.drop_table("release_correction")
