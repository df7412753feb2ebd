"""Run by Alembic: migrates over the connection that the store has opened."""

from alembic import context

from scoring.store.database import VERSION_TABLE
from scoring.store.schema import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    version_table=VERSION_TABLE,
    render_as_batch=True,  # SQLite changes a table by rebuilding it
)
with context.begin_transaction():
    context.run_migrations()
