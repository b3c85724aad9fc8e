"""What a whole class is followed by: summaries of takes, and counts of what has changed."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns."""
    op.add_column("hearings", sa.Column("summary", sa.JSON(none_as_null=True), nullable=True))
    op.add_column("hearings", sa.Column("summary_key", sa.Text(), nullable=True))
    for table in ("people", "exercises"):
        op.add_column(table, sa.Column("changes", sa.Integer(), nullable=False, server_default="0"))
