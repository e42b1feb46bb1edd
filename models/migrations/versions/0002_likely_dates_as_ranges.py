"""likely dates as ranges"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("outlooks", schema=None) as batch_op:
        batch_op.add_column(sa.Column("opening", sa.JSON(), nullable=True))
        batch_op.add_column(sa.Column("closing", sa.JSON(), nullable=True))
        batch_op.add_column(sa.Column("lasting", sa.JSON(), nullable=True))
        batch_op.add_column(sa.Column("issued_on", sa.Date(), nullable=True))


def downgrade() -> None:
    with op.batch_alter_table("outlooks", schema=None) as batch_op:
        batch_op.drop_column("issued_on")
        batch_op.drop_column("lasting")
        batch_op.drop_column("closing")
        batch_op.drop_column("opening")
