"""Weather credits, rain gaps, and what a kept soil state rests on."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

import models.tables.base

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "weather_credits",
        sa.Column("site_key", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("source", models.tables.base.ByteOrdered(length=40), nullable=False),
        sa.Column("attribution", models.tables.base.ByteOrdered(length=200), nullable=False),
        sa.Column("licence", sa.Text(), nullable=False),
        sa.Column("address", sa.Text(), nullable=False),
        sa.Column("commercial", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["site_key"], ["sites.key"], name=op.f("fk_weather_credits_site_key_sites")),
        sa.PrimaryKeyConstraint("site_key", "source", "attribution", name=op.f("pk_weather_credits")),
    )
    with op.batch_alter_table("soil_days", schema=None) as batch_op:
        batch_op.add_column(sa.Column("rain_gap_days", sa.Integer(), server_default="0", nullable=False))

    with op.batch_alter_table("soil_states", schema=None) as batch_op:
        batch_op.add_column(
            sa.Column(
                "fingerprint", models.tables.base.ByteOrdered(length=40), server_default="", nullable=False
            )
        )

    with op.batch_alter_table("weather_days", schema=None) as batch_op:
        batch_op.create_index("ix_weather_days_site_key_known_at", ["site_key", "known_at"], unique=False)


def downgrade() -> None:
    with op.batch_alter_table("weather_days", schema=None) as batch_op:
        batch_op.drop_index("ix_weather_days_site_key_known_at")

    with op.batch_alter_table("soil_states", schema=None) as batch_op:
        batch_op.drop_column("fingerprint")

    with op.batch_alter_table("soil_days", schema=None) as batch_op:
        batch_op.drop_column("rain_gap_days")

    op.drop_table("weather_credits")
