"""Locks rows until the transaction ends."""

from django.db import connection, models, transaction


def locked[Row: models.Model](
    rows: models.QuerySet[Row], *, of: tuple[str, ...] = ()
) -> models.QuerySet[Row]:
    """The rows, locked for update; TransactionManagementError where no transaction would hold the lock.

    PostgreSQL says so by itself; SQLite, whose write lock comes with the transaction, would say nothing and
    let two people take the same number. Whoever only refers to a locked row goes on: a foreign key looks at
    its row at the commit, and two who wait for each other's would be a deadlock. Every action locks through
    here; ``of=("self",)`` where the rows are joined with others that stay free.
    """
    if not connection.in_atomic_block:
        raise transaction.TransactionManagementError("A lock needs a transaction around it.")
    return rows.select_for_update(of=of, no_key=True)
