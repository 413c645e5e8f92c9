"""Manifests of releases

A release carries the canonical JSON that covers the whole of it. House tables are left alone.
"""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("release", sa.Column("manifest", sa.Text(), nullable=True))


def downgrade() -> None:
    with op.batch_alter_table("release") as batch:
        batch.drop_column("manifest")
