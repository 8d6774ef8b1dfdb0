"""The lists of the shop, those in use first."""

from collections.abc import Callable

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.models import Person
from tests.factories.steps import step_list

SignedIn = Callable[[Person], Client]


def test_empty_room_says_what_to_begin_with(ilse: Person, signed_in: SignedIn) -> None:
    assert "There is no list yet." in signed_in(ilse).get("/step-lists/").content.decode()


def test_list_shows_how_many_steps_it_has(ilse: Person, signed_in: SignedIn) -> None:
    old = step_list("Carburettor off")
    old.is_active = False
    old.save()
    step_list()

    content = signed_in(ilse).get("/step-lists/").content.decode()

    assert content.index("Gear oil change") < content.index("Carburettor off")
    assert content.count("not offered any more") == 1


@pytest.mark.parametrize("count", [1, 8])
def test_room_costs_the_same_queries_for_one_and_many(
    ilse: Person, signed_in: SignedIn, django_assert_num_queries: DjangoAssertNumQueries, count: int
) -> None:
    browser = signed_in(ilse)
    for number in range(count):
        step_list(f"Kind {number}")

    with django_assert_num_queries(4):
        browser.get("/step-lists/")
