"""A disk that is full at a chosen write."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import OperationalError, connection


@contextmanager
def disk_full_at_write(number: int) -> Iterator[list[str]]:
    """The n-th writing statement finds no room; gives the statements that were reached."""
    writes: list[str] = []

    def wrapper(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        if sql.startswith(("INSERT", "UPDATE", "DELETE")):
            writes.append(sql)
            if len(writes) == number:
                raise OperationalError("database or disk is full")
        return execute(sql, params, many, context)

    with connection.execute_wrapper(wrapper):
        yield writes
