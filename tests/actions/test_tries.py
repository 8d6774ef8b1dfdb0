"""Tries are counted before they are judged: all workers share the count, and it ends by itself."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.tries import Limit, Wait, begin_try, forgive_try
from shopapp.models import MissCount
from tests.side_by_side import outcomes

pytestmark = pytest.mark.django_db
AT = datetime(2026, 6, 2, 17, 30, tzinfo=UTC)
BY = Actor(scope=Scope.SYSTEM, at=AT)
NAME = Limit(key="name", most=3, within=timedelta(minutes=15))
PLACE = Limit(key="place", most=5, within=timedelta(minutes=15))


def tries(count: int, limits: Sequence[Limit] = (NAME,), *, at: datetime = AT) -> list[Wait | None]:
    return [begin_try(limits, by=replace(BY, at=at)) for _ in range(count)]


def test_try_beyond_the_limit_waits_for_the_rest_of_the_time() -> None:
    tries(3)

    (wait,) = tries(1, at=AT + timedelta(minutes=5))

    assert wait is not None
    assert wait.lasts == timedelta(minutes=10)
    assert MissCount.objects.get(address="name").misses == 3


def test_longest_wait_counts_and_nothing_else_is_counted() -> None:
    tries(5, [PLACE])
    (wait,) = tries(1, [NAME, PLACE])

    assert wait is not None
    assert wait.lasts == timedelta(minutes=15)
    assert list(MissCount.objects.order_by("address").values_list("misses", flat=True)) == [0, 5]


def test_limit_is_told_once() -> None:
    tries(3)

    waits = tries(3)

    assert [wait is not None and wait.news is not None for wait in waits] == [True, False, False]


def test_count_begins_anew_after_its_time() -> None:
    tries(4)

    assert tries(3, at=AT + timedelta(minutes=15)) == [None] * 3


def test_clock_that_went_back_keeps_nobody_waiting() -> None:
    tries(4)

    assert tries(1, at=AT - timedelta(days=1)) == [None]


def test_good_try_is_taken_back_and_no_other() -> None:
    tries(2)

    forgive_try([NAME], by=BY)
    forgive_try([PLACE], by=BY)

    counts = dict(MissCount.objects.values_list("address", "misses"))
    assert counts == {"name": 1, "place": 0}


@pytest.mark.django_db(transaction=True)
def test_tries_at_once_are_no_more_than_in_a_row() -> None:
    waits = outcomes([lambda: begin_try([PLACE, NAME], by=BY)] * 8)

    assert sum(wait is None for wait in waits) == 3
    assert sum(isinstance(wait, Wait) for wait in waits) == 5
    assert MissCount.objects.get(address="name").misses == 3
