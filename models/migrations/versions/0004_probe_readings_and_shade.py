"""probe readings and shade"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

import models.tables.base

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "lawn_readings",
        sa.Column("lawn_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("taken_at", models.tables.base.UtcInstant(timezone=True), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("depth_cm", sa.Double(), nullable=False),
        sa.Column("value_c", sa.Double(), nullable=False),
        sa.Column("in_sun", sa.Boolean(), nullable=False),
        sa.Column("hour_sd_h", sa.Double(), nullable=False),
        sa.Column("recorded_at", models.tables.base.UtcInstant(timezone=True), nullable=False),
        sa.CheckConstraint("depth_cm > 0", name=op.f("ck_lawn_readings_depth")),
        sa.ForeignKeyConstraint(["lawn_key"], ["lawns.key"], name=op.f("fk_lawn_readings_lawn_key_lawns")),
        sa.PrimaryKeyConstraint("lawn_key", "taken_at", name=op.f("pk_lawn_readings")),
    )
    with op.batch_alter_table("lawns", schema=None) as batch_op:
        batch_op.add_column(
            sa.Column(
                "shade", models.tables.base.ByteOrdered(length=40), server_default="open", nullable=False
            )
        )


def downgrade() -> None:
    with op.batch_alter_table("lawns", schema=None) as batch_op:
        batch_op.drop_column("shade")

    op.drop_table("lawn_readings")
