"""Whoever gave their PIN gets a key whose secret signs what they write, and lies in no table."""

import base64

import pytest
from django.utils import timezone

from shopapp.models import Person, TabletKey
from shopapp.queries.entries import key_secret
from tests.factories.devices import at_tablet, browser_of, enrolled

pytestmark = pytest.mark.django_db


def test_key_is_for_the_person_at_this_tablet(tobiah: Person) -> None:
    told = at_tablet(tobiah, at=timezone.now()).post("/bench/key/").json()

    row = TabletKey.objects.get()
    assert (told["key"], told["person"], told["name"]) == (str(row.pk), tobiah.pk, "Tobiah Reyes")
    assert base64.b64decode(told["secret"]) == key_secret(row.pk)
    assert len(key_secret(row.pk)) == 32


def test_secrets_differ_and_follow_the_shops_secret(tobiah: Person, settings: object) -> None:
    client = at_tablet(tobiah, at=timezone.now())
    told = [client.post("/bench/key/").json()["secret"] for _ in range(2)]
    row = TabletKey.objects.earliest("issued_at")

    before = key_secret(row.pk)
    settings.SECRET_KEY = "another secret of the shop, long enough"

    assert told[0] != told[1]
    assert key_secret(row.pk) != before


def test_nobody_gets_a_key_without_a_pin(tobiah: Person, ilse: Person, signed_in: object) -> None:
    tablet = browser_of(enrolled(tobiah, at=timezone.now())[1])

    assert tablet.post("/bench/key/").status_code == 302
    assert signed_in(ilse).post("/bench/key/").status_code == 403
    assert not TabletKey.objects.exists()
