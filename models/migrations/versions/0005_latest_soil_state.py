"""A site's latest soil state beside the settled one."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("soil_states", schema=None) as batch_op:
        batch_op.add_column(sa.Column("latest", sa.JSON(), nullable=True))


def downgrade() -> None:
    with op.batch_alter_table("soil_states", schema=None) as batch_op:
        batch_op.drop_column("latest")
