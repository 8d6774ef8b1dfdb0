"""The desk hands a visit out for a dock call, on the visit's own page."""

from collections.abc import Callable
from datetime import date

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.models import Device, DockCall, Job, Person, Stage
from tests.factories.devices import enrolled, with_pin
from tests.factories.jobs import job_at
from tests.web.work_orders.posts import answer_to_get, sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


@pytest.fixture
def job(tobiah: Person) -> Job:
    with_pin(tobiah, at=timezone.now())
    return job_at(Stage.WITH_CUSTOMER, technician=tobiah)


@pytest.fixture
def tablet(maren: Person) -> Device:
    return enrolled(maren, at=timezone.now())[0]


def address(job: Job) -> str:
    return f"/work-orders/{job.work_order_id}/hand-out/"


def test_hand_out_sent_twice_counts_once(
    ilse: Person, tobiah: Person, job: Job, tablet: Device, signed_in: SignedIn, key: Key
) -> None:
    typed = {"person": tobiah.pk, "device": tablet.pk} | key()

    answers = sent_twice(signed_in(ilse), address(job), typed)

    assert answers == [(302, f"/work-orders/{job.work_order_id}/")] * 2
    assert DockCall.objects.values_list("device", "person").get() == (tablet.pk, tobiah.pk)


def test_page_shows_the_call_and_offers_no_second(
    ilse: Person, tobiah: Person, job: Job, tablet: Device, signed_in: SignedIn, key: Key
) -> None:
    client, page = signed_in(ilse), f"/work-orders/{job.work_order_id}/"
    before = client.get(page).content.decode()
    client.post(address(job), {"person": tobiah.pk, "device": tablet.pk} | key())

    after = client.get(page).content.decode()

    call = DockCall.objects.get()
    assert ("Hand it out" in before, "Hand it out" in after) == (True, False)
    assert "Tobiah Reyes, on Bench tablet 1" in after
    assert f'action="/work-orders/dock-call/{call.pk}/take-back-call/"' in after


def test_call_of_another_day_is_not_shown(
    ilse: Person, tobiah: Person, job: Job, tablet: Device, signed_in: SignedIn
) -> None:
    DockCall.objects.create(
        work_order=job.work_order,
        device=tablet,
        person=tobiah,
        call_date=date(2026, 1, 1),
        handed_by=ilse,
        handed_at=timezone.now(),
    )

    page = signed_in(ilse).get(f"/work-orders/{job.work_order_id}/").content.decode()

    assert ("Hand it out" in page, "take-back-call" in page) == (True, False)


def test_unknown_tablet_is_told_at_the_form(
    ilse: Person, tobiah: Person, job: Job, tablet: Device, signed_in: SignedIn, key: Key
) -> None:
    answer = signed_in(ilse).post(address(job), {"person": tobiah.pk, "device": tablet.pk + 9} | key())

    assert (answer.status_code, DockCall.objects.count()) == (422, 0)
    assert 'href="#hand_out_device"' in answer.content.decode()


def test_shop_without_a_tablet_is_told_so(ilse: Person, job: Job, signed_in: SignedIn) -> None:
    page = signed_in(ilse).get(f"/work-orders/{job.work_order_id}/").content.decode()

    assert ("the shop needs an enrolled tablet" in page, "Hand it out" in page) == (True, False)


def test_technician_may_not_hand_out(
    tobiah: Person, job: Job, tablet: Device, signed_in: SignedIn, key: Key
) -> None:
    client = signed_in(tobiah)

    answer = client.post(address(job), {"person": tobiah.pk, "device": tablet.pk} | key())

    assert (answer.status_code, DockCall.objects.count()) == (403, 0)
    assert "Dock call" not in client.get(f"/work-orders/{job.work_order_id}/").content.decode()


def test_hand_out_by_get_does_nothing(ilse: Person, job: Job, signed_in: SignedIn) -> None:
    assert answer_to_get(signed_in(ilse), address(job)) == (405, True)
