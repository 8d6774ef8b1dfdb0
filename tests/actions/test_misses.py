"""Links that lead nowhere are counted by place; too many of them are turned away and told once."""

import json
from datetime import datetime, timedelta

import pytest

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.misses import note_miss
from shopapp.models import Activity, MissCount
from shopapp.queries.misses import MOST_MISSES, WITHIN
from tests.side_by_side import outcomes

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)


def app(at: datetime) -> Actor:
    return Actor(scope=Scope.SYSTEM, at=at)


def tries(address: str, *, at: datetime, count: int = MOST_MISSES) -> list[bool]:
    return [note_miss(address, by=app(at)) for _ in range(count)]


def test_misses_beyond_the_limit_are_turned_away(now: datetime) -> None:
    answers = tries("198.51.100.7", at=now, count=MOST_MISSES + 3)

    assert answers == [False] * MOST_MISSES + [True] * 3
    assert MissCount.objects.get().misses == MOST_MISSES


def test_misses_are_told_once(now: datetime) -> None:
    tries("198.51.100.7", at=now, count=MOST_MISSES + 3)

    told = Activity.objects.get()
    assert (told.verb, told.actor, told.actor_name) == ("many wrong links", "system", "the app")
    assert json.loads(told.payload) == {"address": "198.51.100.7", "misses": MOST_MISSES}


def test_places_are_counted_apart(now: datetime) -> None:
    tries("198.51.100.7", at=now)

    assert note_miss("198.51.100.8", by=app(now)) is False


def test_one_line_of_ipv6_is_one_place(now: datetime) -> None:
    for number in range(MOST_MISSES):
        note_miss(f"2001:db8:1:2::{number:x}", by=app(now))

    assert note_miss("2001:db8:1:2:ffff::1", by=app(now)) is True
    assert note_miss("2001:db8:1:3::1", by=app(now)) is False


def test_mapped_address_is_the_place_it_stands_for(now: datetime) -> None:
    tries("198.51.100.7", at=now)

    assert note_miss("::ffff:198.51.100.7", by=app(now)) is True


@pytest.mark.parametrize("address", ["", "unix:", "x" * 200])
def test_place_without_an_address_counts_too(now: datetime, address: str) -> None:
    assert tries(address, at=now, count=MOST_MISSES + 1)[-1] is True


def test_misses_begin_anew_after_a_while(now: datetime) -> None:
    tries("198.51.100.7", at=now)

    assert note_miss("198.51.100.7", by=app(now + WITHIN)) is False
    assert MissCount.objects.get().misses == 1


def test_few_misses_now_and_then_are_never_many(now: datetime) -> None:
    answers = [note_miss("198.51.100.7", by=app(now + number * WITHIN / 10)) for number in range(200)]

    assert (answers, Activity.objects.count()) == ([False] * 200, 0)


def test_who_goes_on_guessing_is_told_of_again_after_a_quiet_day(now: datetime) -> None:
    for hour in (0, 5, 20):
        tries("198.51.100.7", at=now + hour * HOUR)
    assert Activity.objects.count() == 1

    tries("198.51.100.7", at=now + 45 * HOUR)

    assert Activity.objects.count() == 2


@pytest.mark.django_db(transaction=True)
def test_misses_at_once_are_all_counted(now: datetime) -> None:
    ends = outcomes([lambda: tries("198.51.100.7", at=now, count=5)] * 8)

    assert sorted(answer for end in ends for answer in end) == [False] * MOST_MISSES + [True] * 10
    assert (MissCount.objects.get().misses, Activity.objects.count()) == (MOST_MISSES, 1)
