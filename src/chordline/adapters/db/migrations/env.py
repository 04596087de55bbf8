"""Runs migrations on the connection that `chordline.adapters.db.migrate` opened."""

from alembic import context

from chordline.adapters.db.schema import METADATA

context.configure(connection=context.config.attributes["connection"], target_metadata=METADATA)
with context.begin_transaction():
    context.run_migrations()
