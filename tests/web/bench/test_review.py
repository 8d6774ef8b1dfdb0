"""The desk's list of what tablets sent: why each waits, what is missing, what was dealt with."""

from collections.abc import Callable
from datetime import datetime

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.models import EntryState, Person, Stage, TabletEntry
from tests.factories.entries import Tablet, tablet_of, waiting_entry
from tests.factories.jobs import job_at

pytestmark = pytest.mark.django_db

ADDRESS = "/bench/review/"
SignedIn = Callable[[Person], Client]


@pytest.fixture
def tablet(maren: Person, tobiah: Person, now: datetime) -> Tablet:
    return tablet_of(maren, tobiah, at=now)


def test_review_shows_what_was_written_and_why_it_waits(
    ilse: Person, tobiah: Person, signed_in: SignedIn, now: datetime
) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    entry = waiting_entry(job, at=now)

    content = signed_in(ilse).get(ADDRESS).content.decode()

    for piece in (
        "1 entry could not be taken by itself",
        "No PIN was given for it: somebody who gave no name.",
        "Line on the shaft",
        "it is not sure by whom",
        f'action="/bench/entry/{entry.pk}/take/"',
        f'action="/bench/entry/{entry.pk}/set-aside/"',
        f'href="/work-orders/{job.work_order_id}/"',
    ):
        assert content.count(piece) == 1, piece


def test_desk_is_led_to_what_waits(ilse: Person, tobiah: Person, signed_in: SignedIn, now: datetime) -> None:
    client, job = signed_in(ilse), job_at(Stage.IN_HAND, technician=tobiah)
    led = '<a class="parked-count" href="/bench/review/">'

    before = client.get("/today/").content.decode()
    waiting_entry(job, at=now)
    after = client.get("/today/").content.decode()

    assert (led in before, led in after) == (False, True)


@pytest.mark.parametrize("size", [1, 40])
def test_review_takes_nine_queries(
    ilse: Person,
    tobiah: Person,
    signed_in: SignedIn,
    tablet: Tablet,
    django_assert_num_queries: DjangoAssertNumQueries,
    size: int,
) -> None:
    job, client = job_at(Stage.IN_HAND, technician=tobiah), signed_in(ilse)
    tablet.written = 1
    for _ in range(size):
        tablet.take(tablet.write("note", job, None, {"text": "Line on the shaft"}))
    TabletEntry.objects.filter(pk__in=TabletEntry.objects.values("pk")[: size // 2]).update(
        state=EntryState.SET_ASIDE, settled_by=ilse, settled_at=tablet.at, settled_reason="twice"
    )

    with django_assert_num_queries(9):
        client.get(ADDRESS)
