"""The list of customers."""

from collections.abc import Callable
from html import escape

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.actions import search_texts
from shopapp.models import Person
from tests.factories import CustomerFactory, VesselFactory, WorkOrderFactory
from tests.web.shared.bad_values import tried_values
from tests.web.shared.hostile import NASTY_NAMES, row_counts

ADDRESS = "/customers/"
SignedIn = Callable[[Person], Client]


def test_index_lists_customers_with_boats(ilse: Person, signed_in: SignedIn) -> None:
    anna = CustomerFactory(name="Anna Berg", phone="604 555 0142")
    VesselFactory(owner=anna, name="Kittiwake")

    content = signed_in(ilse).get(ADDRESS).content.decode()

    assert f'href="/customers/{anna.pk}/">Anna Berg</a>' in content
    assert (content.count("604 555 0142"), content.count("Kittiwake")) == (1, 1)


def test_index_of_a_new_shop_says_what_to_do(ilse: Person, signed_in: SignedIn) -> None:
    content = signed_in(ilse).get(ADDRESS).content.decode()

    assert "No customers yet. The first one is written down when their boat arrives." in content


def test_index_finds_and_answers_htmx_with_rows_only(ilse: Person, signed_in: SignedIn) -> None:
    for name in ("Anna Berg", "Bo Holm"):
        search_texts.index(CustomerFactory(name=name))

    response = signed_in(ilse).get(ADDRESS, {"q": "berg"}, headers={"hx-request": "true"})

    content = response.content.decode()
    assert content.lstrip().startswith('<section id="customer-rows"')
    assert ("Anna Berg" in content, "Bo Holm" in content) == (True, False)
    assert "HX-Request" in response.headers["Vary"]


def test_index_that_finds_nothing_keeps_the_question(ilse: Person, signed_in: SignedIn) -> None:
    content = signed_in(ilse).get(ADDRESS, {"q": "<b>zzz"}).content.decode()

    assert "No customer fits “&lt;b&gt;zzz”." in content


def test_index_pages_keep_the_question(ilse: Person, signed_in: SignedIn) -> None:
    for place in range(60):
        search_texts.index(CustomerFactory(name=f"Anna {place:02d}"))

    content = signed_in(ilse).get(ADDRESS, {"q": "anna", "page": "2"}).content.decode()

    assert content.count('class="row-link') == 10
    assert 'href="?q=anna&amp;page=1"' in content


@pytest.mark.parametrize("size", [1, 100])
@pytest.mark.parametrize(("question", "queries"), [("", 7), ("anna", 8)])
def test_index_takes_the_same_queries(
    ilse: Person,
    signed_in: SignedIn,
    django_assert_num_queries: DjangoAssertNumQueries,
    size: int,
    question: str,
    queries: int,
) -> None:
    client = signed_in(ilse)
    for _ in range(size):
        anna = CustomerFactory(name="Anna")
        search_texts.index(anna)
        WorkOrderFactory(vessel=VesselFactory(owner=anna))

    with django_assert_num_queries(queries):
        response = client.get(ADDRESS, {"q": question})

    assert response.content.decode().count('class="row-link') == min(size, 50)


def test_technician_may_not_see_customers(tobiah: Person, signed_in: SignedIn) -> None:
    assert signed_in(tobiah).get(ADDRESS).status_code == 403


def test_index_answers_any_question(ilse: Person, signed_in: SignedIn) -> None:
    client = signed_in(ilse)
    before = row_counts()

    statuses = {
        client.get(ADDRESS, {"q": text[:2000], "page": text[:50]}).status_code for text in tried_values()
    }

    assert (statuses, row_counts()) == ({200}, before)


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_nasty_names_are_only_text_t13_t08(ilse: Person, signed_in: SignedIn, name: str) -> None:
    VesselFactory(owner=CustomerFactory(name=name, phone=name[:40]), name=name)

    content = signed_in(ilse).get(ADDRESS).content.decode()

    assert (name in content, content.count(escape(name))) == (False, 2 + (len(name) <= 40))
