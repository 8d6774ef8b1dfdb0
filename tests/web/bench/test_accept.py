"""Numbers that are missing at a tablet are told until the desk knows of them, and new ones anew."""

from collections.abc import Callable
from datetime import datetime

import pytest
from django.test import Client

from shopapp.models import Person, Stage
from tests.factories.entries import tablet_of
from tests.factories.jobs import job_at

pytestmark = pytest.mark.django_db

ADDRESS = "/bench/review/"
SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def test_missing_numbers_are_told_until_they_are_known(
    ilse: Person, tobiah: Person, signed_in: SignedIn, key: Key, now: datetime
) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    tablet = tablet_of(ilse, tobiah, at=now)
    sents = [tablet.write("note", job, tobiah, {"text": f"note {number}"}) for number in range(1, 8)]
    for number in (1, 2, 7, 4):
        tablet.take(sents[number - 1])
    client = signed_in(ilse)

    before = client.get(ADDRESS).content.decode()
    client.post(f"/bench/tablet/{tablet.device.pk}/accept/", key())
    known = client.get(ADDRESS).content.decode()
    tablet.take(tablet.sent("unreadable"))
    tablet.written += 1
    tablet.take(tablet.write("note", job, tobiah, {"text": "after one more gap"}))
    anew = client.get(ADDRESS).content.decode()

    assert "3 entries of Bench tablet 1 have not come: numbers 3, 5–6." in before
    assert "have not come" not in known
    assert "4 entries of Bench tablet 1 have not come: numbers 3, 5–6, 8." in anew
