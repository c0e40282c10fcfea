# mypy: ignore-errors
# The migration tool runs this file by its path and sets up ``context`` as it does so.
"""Run the steps on the connection that the store hands over."""

from __future__ import annotations

from alembic import context

from corallum.store.schema import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    # SQLite takes part in transactions with table changes too; the tool assumes not.
    transactional_ddl=True,
    transaction_per_migration=True,
)
with context.begin_transaction():
    context.run_migrations()
