"""Runs a state machine against the test's database: every run of steps begins with an empty shop.

SHOPAPP_STATE_RUNS=500 makes it a long run by hand, each time with other steps.
"""

import os
from collections.abc import Callable

from django.db import connection, transaction
from hypothesis import HealthCheck, Phase, seed, settings
from hypothesis.stateful import RuleBasedStateMachine, run_state_machine_as_test

RUNS = os.environ.get("SHOPAPP_STATE_RUNS", "")


class ShopMachine(RuleBasedStateMachine):
    """Steps on a database; whatever they wrote is taken back at the end."""

    def __init__(self) -> None:
        super().__init__()
        self._block = transaction.atomic()
        self._block._from_testcase = True
        self._block.__enter__()

    def teardown(self) -> None:
        """Look at the whole once more, then forget it."""
        try:
            self.end()
        finally:
            transaction.set_rollback(True)
            self._block.__exit__(None, None, None)

    def end(self) -> None:
        """What must be true of the whole run."""


def run(machine: Callable[[], RuleBasedStateMachine], *, runs: int, steps: int) -> None:
    """So many runs of so many steps; the same ones each time, unless a long run is asked for.

    On PostgreSQL others than on SQLite: the two together try as many ways as one alone with twice the runs.
    """
    run_state_machine_as_test(
        machine if RUNS else seed(connection.vendor)(machine),
        settings=settings(
            max_examples=int(RUNS or runs),
            stateful_step_count=steps,
            deadline=None,
            derandomize=not RUNS,
            database=None,
            report_multiple_bugs=False,
            # a failing run is made shorter only by hand: that takes minutes
            phases=(Phase.generate, Phase.shrink) if RUNS else (Phase.generate,),
            suppress_health_check=list(HealthCheck),
        ),
    )
