"""Headers of releases

A release carries the text of its `release.toml`, which says what it was made with. House tables are left alone.
"""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("release", sa.Column("header", sa.Text(), nullable=True))


def downgrade() -> None:
    with op.batch_alter_table("release") as batch:
        batch.drop_column("header")
