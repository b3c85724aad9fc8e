"""How migrations run: inside the transaction that ``fretwright.store.migrate`` opened."""

from alembic import context

from fretwright.store.tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    # SQLite changes a table by making it anew.
    render_as_batch=True,
    transaction_per_migration=False,
)
context.run_migrations()
