"""The owner takes a PIN away that others saw; the person sets a new one."""

from collections.abc import Callable

from django.test import Client
from django.utils import timezone

from shopapp.models import Activity, Person, Pin
from tests.factories.devices import with_pin

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def test_pin_is_gone_once_and_told(maren: Person, tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    with_pin(tobiah, at=timezone.now())
    client = signed_in(maren)
    address = f"/people/{tobiah.pk}/"
    before = client.get(address).content.decode()

    for _ in range(2):
        client.post(f"{address}remove-pin/", key())

    after = client.get(address).content.decode()
    assert ["Remove the PIN" in text for text in (before, after)] == [True, False]
    assert (Pin.objects.count(), Activity.objects.filter(verb="remove PIN").count()) == (0, 1)


def test_only_the_owner_removes_a_pin(ilse: Person, tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    with_pin(tobiah, at=timezone.now())

    response = signed_in(ilse).post(f"/people/{tobiah.pk}/remove-pin/", key())

    assert (response.status_code, Pin.objects.count()) == (403, 1)
