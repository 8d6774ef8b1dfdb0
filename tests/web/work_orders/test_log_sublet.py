"""Work that goes out to another shop is logged."""

from collections.abc import Callable
from datetime import date
from html import unescape

import pytest
from django.test import Client

from shopapp.models import FeeEntry, Job, Person, Stage, SubletEntry
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


def test_sublet_is_logged_once_and_shown(job: Job, tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    client = signed_in(tobiah)

    answers = sent_twice(client, address(job, "log-sublet"), SHAFT | key())

    row = SubletEntry.objects.get()
    assert answers == [(302, address(job))] * 2
    assert (row.supplier, row.due_back_date) == ("Inlet Machine", date(2026, 6, 9))
    content = client.get(address(job)).content.decode()
    assert ("still away" in content, f"sublet_entry-{row.pk}" in content) == (True, True)


@pytest.mark.parametrize(
    ("deed", "data", "sentence"),
    [
        ("log-sublet", {"supplier": ""}, "Which shop does it? is missing."),
        ("log-sublet", {"description": ""}, "what is done there, or its line on the plan"),
        ("log-sublet", {"due_back_date": "soon"}, "Enter a valid date."),
    ],
)
def test_odd_charge_says_why_and_keeps_the_rest(
    *, job: Job, tobiah: Person, signed_in: SignedIn, key: Key, deed: str, data: dict[str, str], sentence: str
) -> None:
    typed = (LIFT if deed == "log-fee" else SHAFT) | data

    response = signed_in(tobiah).post(address(job, deed), typed | key())

    assert (response.status_code, sentence in unescape(response.content.decode())) == (422, True)
    assert (FeeEntry.objects.count(), SubletEntry.objects.count()) == (0, 0)


def test_money_posted_by_a_technician_is_ignored_t02(
    job: Job, tobiah: Person, signed_in: SignedIn, key: Key
) -> None:
    client = signed_in(tobiah)
    client.post(address(job, "log-fee"), LIFT | {"unit_price": "9"} | key())
    client.post(address(job, "log-sublet"), SHAFT | {"unit_cost": "9"} | key())

    assert (FeeEntry.objects.get().unit_price_e4, SubletEntry.objects.get().unit_cost_e4) == (None, None)
    assert ['name="unit_' in client.get(address(job)).content.decode()] == [False]
