"""A family without engines is taken out of the book."""

from collections.abc import Callable

from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import EngineFamily, Person
from tests.factories import EngineFactory
from tests.factories.spec_book import written_family

SignedIn = Callable[[Person], Client]
By = Callable[[Person], Actor]
Key = Callable[[], dict[str, str]]


def test_unused_family_is_taken_out(maren: Person, signed_in: SignedIn, by: By, key: Key) -> None:
    family = written_family(by(maren))

    answer = signed_in(maren).post(f"/spec-book/{family.pk}/remove/", key())

    assert (answer.headers["Location"], EngineFamily.objects.count()) == ("/spec-book/", 0)


def test_family_of_an_engine_is_refused(
    maren: Person, ilse: Person, signed_in: SignedIn, by: By, key: Key
) -> None:
    family = written_family(by(maren))
    EngineFactory(family=family)
    address = f"/spec-book/{family.pk}/remove/"

    answers = [signed_in(person).post(address, key()).status_code for person in (maren, ilse)]

    assert (answers, EngineFamily.objects.count()) == ([409, 403], 1)
