"""A value is taken out of the book."""

from collections.abc import Callable

from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import FluidCapacity, Person
from tests.factories.spec_book import written_family

SignedIn = Callable[[Person], Client]
By = Callable[[Person], Actor]
Key = Callable[[], dict[str, str]]


def test_value_is_taken_out(maren: Person, ilse: Person, signed_in: SignedIn, by: By, key: Key) -> None:
    family = written_family(by(maren))
    address = f"/spec-book/value/capacity-{FluidCapacity.objects.get().pk}/remove-value/"

    refused, done = (signed_in(person).post(address, key()) for person in (ilse, maren))

    assert (refused.status_code, done.headers["Location"]) == (403, f"/spec-book/{family.pk}/#capacity")
    assert FluidCapacity.objects.count() == 0
