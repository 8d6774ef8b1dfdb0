"""The desk notes that the customer knows."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Activity, Person, Stage
from tests.factories.jobs import job_at
from tests.web.shared.hostile import troubles_with_bad_values
from tests.web.work_orders.posts import answer_to_get, sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def address(pk: int) -> str:
    return f"/work-orders/{pk}/tell-customer/"


def test_tell_sent_twice_is_noted_once(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    work_order = job_at(Stage.READY).work_order

    answers = sent_twice(signed_in(ilse), address(work_order.pk), {"how": "text"} | key())

    work_order.refresh_from_db()
    assert answers == [(302, f"/work-orders/{work_order.pk}/")] * 2
    assert (work_order.told_how, work_order.told_at is not None) == ("text", True)
    assert Activity.objects.count() == 1


def test_tell_too_early_is_refused(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    work_order = job_at(Stage.IN_HAND).work_order

    response = signed_in(ilse).post(address(work_order.pk), {"how": "phone"} | key())

    sentence = "This work order is at “In hand”; every job must be ready first."
    assert response.status_code == 409
    assert sentence in response.content.decode()


def test_tell_is_not_for_technicians(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    work_order = job_at(Stage.READY, technician=tobiah).work_order
    client = signed_in(tobiah)

    statuses = [
        client.post(address(pk), {"how": "phone"} | key()).status_code for pk in (work_order.pk, 999_999)
    ]

    assert (statuses, Activity.objects.count()) == ([403, 403], 0)


def test_tell_about_a_missing_visit_is_404(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    assert signed_in(ilse).post(address(999_999), {"how": "phone"} | key()).status_code == 404


def test_tell_by_get_does_nothing(ilse: Person, signed_in: SignedIn) -> None:
    work_order = job_at(Stage.READY).work_order

    assert answer_to_get(signed_in(ilse), address(work_order.pk)) == (405, True)


def test_tell_withstands_odd_values(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    work_order = job_at(Stage.READY).work_order

    found = troubles_with_bad_values(
        signed_in(ilse), address(work_order.pk), good=key, fields=["how"], hidden=["how"]
    )

    work_order.refresh_from_db()
    assert (found, work_order.told_at) == ([], None)
