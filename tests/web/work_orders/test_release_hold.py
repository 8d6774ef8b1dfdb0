"""A wait is over."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.actions.holds import HoldInput, place_hold
from shopapp.models import Hold, Person, PlacedHold, Stage
from tests.factories.jobs import job_at
from tests.web.work_orders.posts import answer_to_get, looks_missing, sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


@pytest.fixture
def hold(ilse: Person, tobiah: Person, by: Callable[[Person], Actor]) -> PlacedHold:
    job = job_at(Stage.IN_LINE, technician=tobiah)
    data = HoldInput(kind=Hold.PARTS, chase_date=by(ilse).at.date(), chaser=ilse.pk)
    return place_hold(job.work_order_id, data, by=by(ilse))


def address(hold: PlacedHold) -> str:
    return f"/work-orders/hold/{hold.pk}/release-hold/"


def test_release_hold_sent_twice_counts_once(
    tobiah: Person, hold: PlacedHold, signed_in: SignedIn, key: Key
) -> None:
    answers = sent_twice(signed_in(tobiah), address(hold), dict(key()))

    hold.refresh_from_db()
    assert answers == [(302, f"/work-orders/{hold.work_order_id}/#work-order-holds")] * 2
    assert (hold.released_at is None) is False
    assert hold.work_order.activity.filter(verb="release hold").count() == 1


def test_release_hold_of_another_boat_looks_missing_t01(
    wen: Person, hold: PlacedHold, signed_in: SignedIn, key: Key
) -> None:
    found = looks_missing(signed_in(wen), address(hold), pk=hold.pk, data=dict(key()))

    assert found == (404, True, True)


def test_release_hold_by_get_does_nothing(ilse: Person, hold: PlacedHold, signed_in: SignedIn) -> None:
    assert answer_to_get(signed_in(ilse), address(hold)) == (405, True)
