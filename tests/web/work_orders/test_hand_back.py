"""The boat goes home."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.actions.work_orders import TellInput, tell_customer
from shopapp.models import Job, Outcome, Person, Stage, ToldHow, WorkOrder
from tests.factories.jobs import agreed_job, job_at
from tests.web.shared.hostile import troubles_with_bad_values
from tests.web.work_orders.posts import answer_to_get, sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def address(pk: int) -> str:
    return f"/work-orders/{pk}/hand-back/"


@pytest.fixture
def declined(ilse: Person, by: Callable[[Person], Actor]) -> WorkOrder:
    """A visit whose customer said no, and who knows that the boat is ready."""
    work_order = job_at(Stage.READY, outcome=Outcome.DECLINED).work_order
    return tell_customer(work_order.pk, TellInput(how=ToldHow.PHONE), by=by(ilse))


def test_hand_back_sent_twice_closes_once(
    ilse: Person, declined: WorkOrder, signed_in: SignedIn, key: Key
) -> None:
    answers = sent_twice(signed_in(ilse), address(declined.pk), {"gone_to": "Aud Nilsen"} | key())

    declined.refresh_from_db()
    assert answers == [(302, f"/work-orders/{declined.pk}/")] * 2
    assert (declined.stage, declined.gone_to) == (Stage.GONE, "Aud Nilsen")
    assert declined.activity.filter(verb="hand back").count() == 1


def test_hand_back_shows_the_closed_visit(
    ilse: Person, declined: WorkOrder, signed_in: SignedIn, key: Key
) -> None:
    client = signed_in(ilse)
    client.post(address(declined.pk), {"gone_to": "Aud Nilsen"} | key())

    content = client.get(f"/work-orders/{declined.pk}/").content.decode()

    assert ("stage-gone" in content, "Aud Nilsen" in content) == (True, True)
    assert [form for form in ("/assign/", "/hand-back/", "/findings/", '/bench/"') if form in content] == []


def test_hand_back_unbilled_is_refused(
    ilse: Person, by: Callable[[Person], Actor], signed_in: SignedIn, key: Key
) -> None:
    work_order = agreed_job(Stage.READY, outcome=Outcome.DONE).work_order
    tell_customer(work_order.pk, TellInput(how=ToldHow.PHONE), by=by(ilse))

    response = signed_in(ilse).post(address(work_order.pk), {"gone_to": "Aud Nilsen"} | key())

    work_order.refresh_from_db()
    assert (response.status_code, work_order.stage) == (409, Stage.READY)
    assert "The work is not billed yet. Issue the invoice first." in response.content.decode()


def test_hand_back_to_nobody_keeps_the_page(
    ilse: Person, declined: WorkOrder, signed_in: SignedIn, key: Key
) -> None:
    response = signed_in(ilse).post(address(declined.pk), {"gone_to": " "} | key())

    content = response.content.decode()
    assert response.status_code == 422
    assert '<a href="#hand_back_gone_to">' in content
    assert "Who takes the boat? is missing. Please fill it in." in content


def test_hand_back_is_not_for_technicians(
    tobiah: Person, declined: WorkOrder, signed_in: SignedIn, key: Key
) -> None:
    declined.jobs.get().assignments.create(person=tobiah)

    response = signed_in(tobiah).post(address(declined.pk), {"gone_to": "Aud Nilsen"} | key())

    declined.refresh_from_db()
    assert (response.status_code, declined.stage) == (403, Stage.READY)


def test_hand_back_by_get_does_nothing(ilse: Person, declined: WorkOrder, signed_in: SignedIn) -> None:
    assert answer_to_get(signed_in(ilse), address(declined.pk)) == (405, True)


def test_hand_back_withstands_odd_values(
    ilse: Person, declined: WorkOrder, signed_in: SignedIn, key: Key
) -> None:
    def good() -> dict[str, object]:
        # a name that is accepted closes the visit: put it back for the next one
        Job.objects.update(stage=Stage.READY)
        WorkOrder.objects.update(stage=Stage.READY)
        return dict(key())

    found = troubles_with_bad_values(signed_in(ilse), address(declined.pk), good=good, fields=["gone_to"])

    assert found == []
