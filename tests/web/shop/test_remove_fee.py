"""A fee is taken off the list."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import FeeRate, Person

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def test_fee_is_removed_and_a_repeat_is_answered(maren: Person, signed_in: SignedIn, key: Key) -> None:
    fee = FeeRate.objects.create(name="Lift out", kind="lift", unit_price_e4=855_000)
    client, sent = signed_in(maren), key()

    first = client.post(f"/shop/fee/{fee.pk}/remove-fee/", sent)
    again = client.post(f"/shop/fee/{fee.pk}/remove-fee/", sent)

    assert (first.status_code, first.headers["Location"]) == (302, "/shop/terms/")
    assert (again.status_code, FeeRate.objects.count()) == (404, 0)
