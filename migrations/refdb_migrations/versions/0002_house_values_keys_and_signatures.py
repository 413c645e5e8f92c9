"""House values with a current version, keys, a log of writes; signatures of releases

House rows that are there are kept as they are: a value's current version is the last of its versions, and versions
from before digests were kept have none.
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("house_value", sa.Column("version", sa.Integer(), nullable=False, server_default="0"))
    op.add_column("house_value_version", sa.Column("digest", sa.String(length=71), nullable=True))
    op.add_column("house_value_version", sa.Column("reason", sa.Text(), nullable=True))
    op.execute(
        "UPDATE house_value SET version = (SELECT COALESCE(MAX(house_value_version.version), 0) "
        "FROM house_value_version WHERE house_value_version.house_value = house_value.id)"
    )
    op.create_table(
        "house_key",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("person", sa.String(length=120), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("secret_digest", sa.String(length=71), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("created_by", sa.String(length=120), nullable=False),
        sa.Column("expires_at", sa.String(length=32), nullable=True),
        sa.Column("revoked_at", sa.String(length=32), nullable=True),
        sa.CheckConstraint(
            "role IN ('reader', 'editor', 'reviewer', 'administrator')", name=op.f("ck_house_key_role_known")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_house_key")),
        sa.UniqueConstraint("secret_digest", name=op.f("uq_house_key_secret_digest")),
        info={"side": "house"},
    )
    op.create_table(
        "house_write",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("at", sa.String(length=32), nullable=False),
        sa.Column("person", sa.String(length=120), nullable=False),
        sa.Column("key", sa.String(length=36), nullable=True),
        sa.Column("action", sa.String(length=32), nullable=False),
        sa.Column("target", sa.String(length=36), nullable=False),
        sa.Column("version", sa.Integer(), nullable=True),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_house_write")),
        info={"side": "house"},
    )
    op.create_index("ix_house_write_target", "house_write", ["target"], unique=False)
    op.create_table(
        "signature",
        sa.Column("release", sa.Integer(), nullable=False),
        sa.Column("public_key", sa.String(length=64), nullable=False),
        sa.Column("signature", sa.String(length=128), nullable=False),
        sa.ForeignKeyConstraint(
            ["release"], ["release.ordinal"], name=op.f("fk_signature_release_release"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("release", "public_key", name=op.f("pk_signature")),
        info={"side": "reference"},
    )


def downgrade() -> None:
    op.drop_table("signature")
    op.drop_index("ix_house_write_target", "house_write")
    op.drop_table("house_write")
    op.drop_table("house_key")
    with op.batch_alter_table("house_value_version") as batch:
        batch.drop_column("reason")
        batch.drop_column("digest")
    with op.batch_alter_table("house_value") as batch:
        batch.drop_column("version")
