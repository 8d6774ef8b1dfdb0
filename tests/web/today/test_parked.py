"""The list of what one has put aside."""

from collections.abc import Callable

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.models import ParkedForm, Person
from tests.conftest import NOW
from tests.web.shared.hostile import NASTY_NAMES

ADDRESS = "/today/parked/"
SignedIn = Callable[[Person], Client]


def put_aside(person: Person, title: str) -> ParkedForm:
    return ParkedForm.objects.create(person=person, title=title, path="/arrivals/new/", parked_at=NOW)


def test_parked_shows_the_own_forms_only(ilse: Person, maren: Person, signed_in: SignedIn) -> None:
    own, _other = put_aside(ilse, "New arrival: Kittiwake"), put_aside(maren, "Edit customer")

    content = signed_in(ilse).get(ADDRESS).content.decode()

    assert content.count(f'href="/arrivals/new/?parked={own.pk}"') == 2
    assert ("Edit customer" in content, f'action="/today/parked/{own.pk}/discard/"' in content) == (
        False,
        True,
    )


def test_nothing_parked_says_how(ilse: Person, signed_in: SignedIn) -> None:
    content = signed_in(ilse).get(ADDRESS).content.decode()

    assert content.count("Nothing is parked.") == 1


@pytest.mark.parametrize("size", [1, 30])
def test_parked_takes_four_queries(
    ilse: Person, signed_in: SignedIn, django_assert_num_queries: DjangoAssertNumQueries, size: int
) -> None:
    client = signed_in(ilse)
    for number in range(size):
        put_aside(ilse, f"form {number}")

    with django_assert_num_queries(4):
        client.get(ADDRESS)


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_nasty_titles_are_only_text_t13(ilse: Person, signed_in: SignedIn, name: str) -> None:
    put_aside(ilse, name)

    assert name not in signed_in(ilse).get(ADDRESS).content.decode()
