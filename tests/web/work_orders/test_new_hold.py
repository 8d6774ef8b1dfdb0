"""Somebody writes down what a visit waits for."""

from collections.abc import Callable
from datetime import date

from django.test import Client
from django.utils import timezone

from shopapp.models import Job, Person, PlacedHold, Stage
from tests.factories.jobs import job_at
from tests.web.shared.hostile import troubles_with_bad_values
from tests.web.work_orders.posts import looks_missing, sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def address(job: Job) -> str:
    return f"/work-orders/{job.work_order_id}/new-hold/"


def typed(person: Person, **changes: object) -> dict[str, object]:
    day = date(timezone.now().year + 1, 1, 5).isoformat()
    return {"kind": "parts", "note": "seal kit", "chaser": person.pk, "chase_date": day} | changes


def test_new_hold_sent_twice_waits_once(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.IN_LINE)

    answers = sent_twice(signed_in(ilse), address(job), typed(ilse, job=job.pk) | key())

    assert answers == [(302, f"/work-orders/{job.work_order_id}/")] * 2
    assert list(PlacedHold.objects.values_list("kind", "note", "job", "chaser")) == [
        ("parts", "seal kit", job.pk, ilse.pk)
    ]


def test_new_hold_shows_as_a_chip_with_who_chases(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    job, client = job_at(Stage.IN_LINE), signed_in(ilse)
    client.post(address(job), typed(ilse) | key())

    content = client.get(f"/work-orders/{job.work_order_id}/").content.decode()

    assert content.count('class="chip chip-hold hold-parts"') == 2
    assert ("seal kit" in content, "Ilse Brandt chases it" in content) == (True, True)


def test_technician_is_not_offered_payment(tobiah: Person, ilse: Person, signed_in: SignedIn) -> None:
    job = job_at(Stage.IN_LINE, technician=tobiah)

    found = ['value="payment"' in signed_in(one).get(address(job)).content.decode() for one in (tobiah, ilse)]

    assert found == [False, True]


def test_technician_sends_payment_in_vain(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.IN_LINE, technician=tobiah)

    response = signed_in(tobiah).post(address(job), typed(tobiah, kind="payment") | key())

    assert (response.status_code, PlacedHold.objects.count()) == (422, 0)


def test_hold_on_another_technicians_boat_looks_missing_t01(
    tobiah: Person, wen: Person, signed_in: SignedIn, key: Key
) -> None:
    job = job_at(Stage.IN_LINE, technician=tobiah)

    found = looks_missing(signed_in(wen), address(job), pk=job.work_order_id, data=typed(wen) | key())

    assert found == (404, True, True)


def test_new_hold_withstands_odd_values(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.IN_LINE)

    found = troubles_with_bad_values(
        signed_in(ilse),
        address(job),
        good=lambda: typed(ilse) | key(),
        fields=["kind", "job", "note", "chaser", "chase_date"],
        hidden=["kind", "job", "chaser"],
    )

    assert found == []
