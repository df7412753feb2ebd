"""Photos placed by four corners keep these, so that they can be measured again."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column; what is stored so far was placed by the card."""
    op.add_column("measurements", sa.Column("corners_px", sa.JSON(), nullable=True))
