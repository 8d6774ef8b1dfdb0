"""Runs deeds at the same time, each in a thread with a database connection of its own."""

import threading
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any

from django.db import connection

type Deed = Callable[[], Any]


def started(deed: Deed, pool: ThreadPoolExecutor) -> Future[Any]:
    """The deed under way in the pool; its connection is closed after it."""

    def whole() -> Any:
        try:
            return deed()
        finally:
            connection.close()

    return pool.submit(whole)


def outcomes(deeds: Sequence[Deed]) -> list[Any]:
    """What each deed gave, or the exception that it raised; all begin at the same moment."""
    gate = threading.Barrier(len(deeds))

    def behind_the_gate(deed: Deed) -> Deed:
        return lambda: (gate.wait(10), deed())[1]

    with ThreadPoolExecutor(len(deeds)) as pool:
        running = [started(behind_the_gate(deed), pool) for deed in deeds]
    return [one.exception() or one.result() for one in running]
