"""A hold is chased: what came of it, and when somebody asks again."""

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.actions.actor import Actor
from shopapp.actions.holds import HoldInput, place_hold
from shopapp.models import Hold, Person, PlacedHold, Stage
from tests.factories.jobs import job_at

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def tomorrow() -> date:
    return timezone.now().date() + timedelta(days=2)


@pytest.fixture
def hold(ilse: Person, tobiah: Person, by: Callable[[Person], Actor]) -> PlacedHold:
    job = job_at(Stage.IN_LINE, technician=tobiah)
    data = HoldInput(kind=Hold.PARTS, chase_date=by(ilse).at.date(), chaser=ilse.pk, note="seal kit")
    return place_hold(job.work_order_id, data, by=by(ilse))


def typed(hold: PlacedHold, **changes: object) -> dict[str, object]:
    day = tomorrow().isoformat()
    return {"note": "ships Monday", "chaser": hold.chaser_id, "chase_date": day, "version": 1} | changes


def test_chasing_moves_the_day(ilse: Person, hold: PlacedHold, signed_in: SignedIn, key: Key) -> None:
    response = signed_in(ilse).post(f"/work-orders/hold/{hold.pk}/", typed(hold) | key())

    hold.refresh_from_db()
    assert (response.status_code, hold.note, hold.chase_date) == (302, "ships Monday", tomorrow())


def test_second_who_chases_sees_both_t22(
    ilse: Person, tobiah: Person, hold: PlacedHold, signed_in: SignedIn, key: Key
) -> None:
    signed_in(ilse).post(f"/work-orders/hold/{hold.pk}/", typed(hold) | key())

    response = signed_in(tobiah).post(f"/work-orders/hold/{hold.pk}/", typed(hold, note="no answer") | key())

    content = response.content.decode()
    assert response.status_code == 409
    assert ("ships Monday" in content, 'value="no answer"' in content) == (True, True)


def test_hold_on_payment_is_missing_for_a_technician(
    tobiah: Person, hold: PlacedHold, signed_in: SignedIn
) -> None:
    PlacedHold.objects.update(kind="payment")
    client = signed_in(tobiah)

    answers = [client.get(f"/work-orders/hold/{pk}/") for pk in (hold.pk, 999_999)]

    assert [one.status_code for one in answers] == [404, 404]
    assert answers[0].content == answers[1].content
