"""Runs and photos can be deleted and taken back: the moment of deletion, or nothing."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns; nothing stored so far counts as deleted."""
    for table in ("runs", "photos"):
        op.add_column(table, sa.Column("deleted_at", sa.DateTime(timezone=True), nullable=True))
