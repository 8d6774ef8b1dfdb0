"""The containers in use, with their levels and the cautions."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.utils.html import escape
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.models import Person, WasteContainer
from tests.factories.waste import container_of
from tests.web.shared.hostile import NASTY_NAMES

SignedIn = Callable[[Person], Client]
By = Callable[[Person], Actor]
ADDRESS = "/used-oil/"


def test_index_shows_levels_and_cautions(
    ilse: Person, signed_in: SignedIn, drum: WasteContainer, water: WasteContainer
) -> None:
    content = signed_in(ilse).get(ADDRESS).content.decode()

    assert "4\xa0l (4.23\xa0US qt) of 60\xa0l (63.4\xa0US qt)" in content
    assert content.index("Oil drum") < content.index("Water can")
    assert escape("Never mix it with petrol, solvent, brake cleaner or coolant") in content
    assert "The rules of your place come first" in content


def test_technician_sees_containers_and_no_desk_buttons(
    tobiah: Person, signed_in: SignedIn, drum: WasteContainer
) -> None:
    content = signed_in(tobiah).get(ADDRESS).content.decode()

    assert ("Oil drum" in content, "/used-oil/new/" in content, "/used-oil/table/" in content) == (
        True,
        False,
        False,
    )


def test_empty_log_says_what_to_do_next(ilse: Person, signed_in: SignedIn) -> None:
    content = signed_in(ilse).get(ADDRESS).content.decode()

    assert ("No container is in use yet." in content, "/used-oil/new/" in content) == (True, True)


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_names_are_inert_t13(ilse: Person, signed_in: SignedIn, by: By, name: str) -> None:
    container_of(by(ilse), name=name)

    assert "<script>alert" not in signed_in(ilse).get(ADDRESS).content.decode()


@pytest.mark.parametrize("count", [1, 40])
def test_index_takes_the_same_queries(
    *,
    ilse: Person,
    signed_in: SignedIn,
    by: By,
    count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    for place in range(count):
        container_of(by(ilse), name=f"Drum {place}")
    client = signed_in(ilse)

    with django_assert_num_queries(5):
        client.get(ADDRESS)
