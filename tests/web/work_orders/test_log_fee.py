"""A fee is logged: a usual one, or a free one."""

from collections.abc import Callable
from html import unescape

import pytest
from django.test import Client

from shopapp.models import FeeEntry, FeeRate, Job, Person, Stage, SubletEntry
from tests.factories.jobs import agreed_job
from tests.web.work_orders.posts import sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
SHAFT = {"supplier": "Inlet Machine", "description": "Straighten the shaft", "due_back_date": "2026-06-09"}
LIFT = {"description": "Lift", "kind": "lift", "quantity": "1", "unit": "each"}


@pytest.fixture
def job(tobiah: Person) -> Job:
    return agreed_job(Stage.IN_HAND, technician=tobiah)


def address(job: Job, deed: str = "charges") -> str:
    return f"/work-orders/job/{job.pk}/{deed}/"


def test_fee_is_logged_once_and_flagged(job: Job, tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    client = signed_in(tobiah)
    sent_twice(client, address(job, "log-fee"), LIFT | key())

    content = client.get(address(job)).content.decode()

    assert FeeEntry.objects.count() == 1
    assert "This goes beyond what the customer agreed. Tell the desk." in content


def test_usual_fee_is_picked(job: Job, ilse: Person, signed_in: SignedIn, key: Key) -> None:
    rate = FeeRate.objects.create(name="Oil disposal", kind="environmental", unit="L", unit_price_e4=12_000)
    client = signed_in(ilse)
    assert "Oil disposal (L)" in client.get(address(job)).content.decode()

    client.post(
        address(job, "log-fee"), {"rate": rate.pk, "kind": "other", "quantity": "2", "unit": "L"} | key()
    )

    row = FeeEntry.objects.get()
    assert (row.kind, row.description, row.unit_price_e4) == ("environmental", "Oil disposal", 12_000)


@pytest.mark.parametrize(
    ("deed", "data", "sentence"),
    [
        ("log-fee", {"quantity": "0"}, "a number from 0.001 to 10,000"),
        ("log-fee", {"description": ""}, "what the fee is for, or one of the usual fees"),
    ],
)
def test_odd_charge_says_why_and_keeps_the_rest(
    *, job: Job, tobiah: Person, signed_in: SignedIn, key: Key, deed: str, data: dict[str, str], sentence: str
) -> None:
    typed = (LIFT if deed == "log-fee" else SHAFT) | data

    response = signed_in(tobiah).post(address(job, deed), typed | key())

    assert (response.status_code, sentence in unescape(response.content.decode())) == (422, True)
    assert (FeeEntry.objects.count(), SubletEntry.objects.count()) == (0, 0)
