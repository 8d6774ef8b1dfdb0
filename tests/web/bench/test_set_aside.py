"""What does not go into the books is set aside with a reason, and stays readable."""

from collections.abc import Callable
from datetime import datetime

import pytest
from django.test import Client

from shopapp.models import JobNote, Person, Stage
from tests.factories.entries import waiting_entry
from tests.factories.jobs import job_at

pytestmark = pytest.mark.django_db

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def test_set_aside_wants_a_reason(
    ilse: Person, tobiah: Person, signed_in: SignedIn, key: Key, now: datetime
) -> None:
    entry, client = waiting_entry(job_at(Stage.IN_HAND, technician=tobiah), at=now), signed_in(ilse)
    address = f"/bench/entry/{entry.pk}/set-aside/"

    without = client.post(address, key() | {"reason": ""})
    answer = client.post(address, key() | {"reason": "written down twice"})
    shown = client.get("/bench/review/").content.decode()

    assert (without.status_code, answer.status_code) == (422, 302)
    assert shown.count("written down twice") == 1
    assert not JobNote.objects.exists()
