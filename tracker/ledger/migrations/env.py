"""Alembic's entry: runs on the connection that `database.migrate` hands over."""

from alembic import context

from tracker.ledger.schema import metadata

connection = context.config.attributes["connection"]
context.configure(connection=connection, target_metadata=metadata, transactional_ddl=True)
context.run_migrations()
