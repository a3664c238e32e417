"""Run migrations on the connection that :mod:`edgetime.ledger.schema` hands over."""

from __future__ import annotations

from alembic import context

context.configure(
    connection=context.config.attributes["connection"],
    transactional_ddl=True,
)
# No transaction is begun here: the caller's holds the whole way from the old schema to the new.
context.run_migrations()
