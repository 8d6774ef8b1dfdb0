"""The desk takes an entry in, and says whose hours it is where nobody knows."""

from collections.abc import Callable
from datetime import datetime

import pytest
from django.test import Client

from shopapp.models import Person, Stage, TimeEntry
from tests.factories.entries import tablet_of
from tests.factories.jobs import job_at

pytestmark = pytest.mark.django_db

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def test_take_puts_the_entry_into_the_books(
    ilse: Person, tobiah: Person, signed_in: SignedIn, key: Key, now: datetime
) -> None:
    job, client = job_at(Stage.IN_HAND, technician=tobiah), signed_in(ilse)
    hours = {"work": "repair", "hours": "2"}
    tablet = tablet_of(ilse, at=now)
    entry = tablet.take(tablet.write("time", job, None, hours))

    unsaid = client.post(f"/bench/entry/{entry.pk}/take/", key())
    answer = client.post(f"/bench/entry/{entry.pk}/take/", key() | {"person": tobiah.pk})

    assert (unsaid.status_code, answer.headers["Location"]) == (422, "/bench/review/")
    assert TimeEntry.objects.values_list("person", "minutes").get() == (tobiah.pk, 120)
