"""Every n-th write of a whole visit fails, for each n: the step stands whole afterwards, or nothing of it.

Each step is sent again until no write of it fails any more, as somebody would who is told to try again.
``-m soak -s`` fails every single write; the everyday run every eleventh.
"""

import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import count
from typing import Any

import pytest
from django.apps import apps
from django.db import OperationalError, connection
from django_tasks_db.models import DBTaskResult

from shopapp.actions import answers
from shopapp.actions.activity import first_bad_link
from shopapp.models import NumberSeries, Person, RequestKey, Stage, WorkOrder
from tests.factories import VesselFactory
from tests.faults import writers
from tests.faults.visits import STEPS
from tests.states.oracle import Habits
from tests.states.truths import check_invoices, check_numbers, check_stages

WRITE = re.compile(r"\s*(INSERT|UPDATE|DELETE|REPLACE|WITH)\b", re.IGNORECASE)


class Failing:
    """Lets so many writes through, and fails the one after them as a full disk does."""

    def __init__(self, *, at: int) -> None:
        self.has_failed, self._left = False, at

    def ask(self, execute: Callable[..., Any], sql: str, *words: Any) -> Any:
        if WRITE.match(sql):
            self._left -= 1
            if self._left == 0:
                self.has_failed = True
                raise OperationalError("database or disk is full")
        return execute(sql, *words)


@contextmanager
def failing(at: int) -> Iterator[Failing]:
    one = Failing(at=at)
    with connection.execute_wrapper(one.ask):
        yield one


def everything() -> dict[str, list[tuple[Any, ...]]]:
    """Every row of the shop, and what the worker was asked to do."""
    models = [*apps.get_app_config("shopapp").get_models(), DBTaskResult]
    return {model.__name__: sorted(model._default_manager.values_list(), key=repr) for model in models}


def fails_until_done(sent: writers.Sent, *, apart: int) -> int:
    """Send a step of a visit again and again, each time with a later write that fails; how many failed."""
    before = everything()
    begin = 1 + sent[1] % apart
    for failed, at in enumerate(count(begin, apart)):
        with failing(at) as one:
            try:
                writers.write(sent)
            except OperationalError:
                assert one.has_failed
            else:
                assert not one.has_failed, "a write failed, and somebody was told that all is well"
                return failed
        assert everything() == before, (STEPS[sent[1]].__name__, at)
    raise AssertionError("never")


@pytest.mark.django_db
@pytest.mark.parametrize("apart", [11, pytest.param(1, marks=pytest.mark.soak)])
def test_every_failing_write_leaves_all_or_nothing(ilse: Person, tobiah: Person, apart: int) -> None:
    VesselFactory()

    failed = {step.__name__: fails_until_done((1, n), apart=apart) for n, step in enumerate(STEPS)}

    sys.stdout.write(f"{connection.vendor}: {sum(failed.values())} writes failed, {failed}\n")
    assert sum(failed.values()) > 5
    assert RequestKey.objects.count() == len(STEPS)
    assert WorkOrder.objects.get().stage == Stage.READY
    assert NumberSeries.objects.get(code="invoice").next_value == 2
    assert first_bad_link() is None
    assert answers.first_unfaithful_answer() is None
    check_numbers()
    check_invoices(Habits())
    check_stages()
