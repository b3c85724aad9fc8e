"""Rates that servers share, letters that can be stopped; tables that nothing used are gone."""

import sqlalchemy as sa
from alembic import op

from fretwright.store.columns import Moment

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

# Marks a name as whole: the conventions of the tables add nothing to it.
final = op.f


def upgrade() -> None:
    """Change the tables."""
    op.create_table(
        "rates",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("span", sa.BigInteger(), nullable=False),
        sa.Column("hits", sa.Integer(), nullable=False),
        sa.Column("hits_before", sa.Integer(), nullable=False),
        sa.Column("expires_at", Moment(), nullable=False),
        sa.CheckConstraint("hits >= 0 AND hits_before >= 0", name=final("ck_rates_hits_counted")),
        sa.PrimaryKeyConstraint("key", name="pk_rates"),
    )
    op.create_index("ix_rates_expires_at", "rates", ["expires_at"], unique=False)
    op.add_column(
        "people", sa.Column("lesson_letters", sa.Boolean(), nullable=False, server_default=sa.true())
    )
    op.add_column("mail", sa.Column("stop_address", sa.Text(), nullable=True))
    # Practice is known by its takes, recall is counted from them, and a device keeps its own delay.
    for name in ("practice_log", "recall_cards", "device_latencies"):
        op.drop_table(name)
