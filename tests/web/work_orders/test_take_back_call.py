"""The desk takes a dock call back."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.models import DockCall, Person, Stage
from tests.factories.devices import enrolled, with_pin
from tests.factories.dock_calls import handed_out
from tests.factories.jobs import job_at
from tests.web.work_orders.posts import answer_to_get, sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


@pytest.fixture
def call(ilse: Person, maren: Person, tobiah: Person) -> DockCall:
    moment = timezone.now()
    tablet = enrolled(maren, at=moment)[0]
    job = job_at(Stage.WITH_CUSTOMER, technician=with_pin(tobiah, at=moment))
    return handed_out(job.work_order, tablet, tobiah, by=ilse, at=moment)


def address(call: DockCall) -> str:
    return f"/work-orders/dock-call/{call.pk}/take-back-call/"


def test_take_back_sent_twice_counts_once(
    ilse: Person, call: DockCall, signed_in: SignedIn, key: Key
) -> None:
    answers = sent_twice(signed_in(ilse), address(call), dict(key()))

    call.refresh_from_db()
    assert answers == [(302, f"/work-orders/{call.work_order_id}/#work-order-dock-call")] * 2
    assert call.taken_back_by == ilse
    assert call.work_order.activity.filter(verb="take back dock call").count() == 1


def test_technician_may_not_take_back(tobiah: Person, call: DockCall, signed_in: SignedIn, key: Key) -> None:
    answer = signed_in(tobiah).post(address(call), key())

    call.refresh_from_db()
    assert (answer.status_code, call.taken_back_at) == (403, None)


def test_missing_call_looks_missing(ilse: Person, call: DockCall, signed_in: SignedIn, key: Key) -> None:
    answer = signed_in(ilse).post(address(call).replace(str(call.pk), "999999"), key())

    assert answer.status_code == 404


def test_take_back_by_get_does_nothing(ilse: Person, call: DockCall, signed_in: SignedIn) -> None:
    assert answer_to_get(signed_in(ilse), address(call)) == (405, True)
