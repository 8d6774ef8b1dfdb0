"""A parked form is thrown away by the one who parked it."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import ParkedForm, Person
from tests.conftest import NOW

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def test_discard_throws_only_the_own_form_away(
    ilse: Person, maren: Person, signed_in: SignedIn, key: Key
) -> None:
    row = ParkedForm.objects.create(person=ilse, title="New arrival", path="/arrivals/new/", parked_at=NOW)
    address = f"/today/parked/{row.pk}/discard/"

    other = signed_in(maren).post(address, key())
    left = ParkedForm.objects.count()
    own = signed_in(ilse).post(address, key())

    # theirs and a missing one look alike
    assert (other.headers["Location"], own.headers["Location"]) == ("/today/parked/", "/today/parked/")
    assert (left, ParkedForm.objects.count()) == (1, 0)
