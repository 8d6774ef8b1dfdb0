"""The list of invoices."""

from collections.abc import Callable

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.models import Customer, Person
from tests.factories.invoices import copied, drafted, issued, paid
from tests.web.shared.bad_values import tried_values

ADDRESS = "/invoices/"
SignedIn = Callable[[Person], Client]
ByPerson = Callable[[Person], Actor]


def test_index_lists_what_is_not_settled(ilse: Person, by: ByPerson, signed_in: SignedIn) -> None:
    open_one, draft = issued(by=by(ilse)), drafted(by=by(ilse))
    paid(issued(by=by(ilse)), "72.80", by=by(ilse))

    content = signed_in(ilse).get(ADDRESS).content.decode()

    assert content.count('class="row-link"') == 2
    assert f'href="/invoices/{open_one.pk}/">INV-00001</a>' in content
    assert f'href="/invoices/{draft.pk}/">Draft</a>' in content


def test_index_shows_all_on_demand(ilse: Person, by: ByPerson, signed_in: SignedIn) -> None:
    issued(by=by(ilse))
    paid(issued(by=by(ilse)), "72.80", by=by(ilse))

    content = signed_in(ilse).get(ADDRESS, {"show": "all"}).content.decode()

    assert content.count('class="row-link"') == 2
    assert content.count('<span class="chip chip-moss">') == 1


def test_index_pages_keep_the_filter(ilse: Person, by: ByPerson, signed_in: SignedIn) -> None:
    copied(issued(by=by(ilse)), 50)

    content = signed_in(ilse).get(ADDRESS, {"show": "all", "page": "2"}).content.decode()

    assert content.count('class="row-link"') == 1
    assert ("Page 2 of 2" in content, 'href="?show=all&amp;page=1"' in content) == (True, True)


@pytest.mark.parametrize(
    ("show", "sentence"), [("", "Every invoice is paid."), ("all", "No invoices yet. Open a work order")]
)
def test_empty_index_says_what_to_do(show: str, sentence: str, ilse: Person, signed_in: SignedIn) -> None:
    content = signed_in(ilse).get(ADDRESS, {"show": show}).content.decode()

    assert sentence in content


def test_index_answers_any_odd_address(ilse: Person, by: ByPerson, signed_in: SignedIn) -> None:
    issued(by=by(ilse))
    client = signed_in(ilse)

    statuses = {
        client.get(ADDRESS, {name: text}).status_code for text in tried_values() for name in ("page", "show")
    }

    assert statuses == {200}


def test_index_keeps_a_nasty_name_as_text_t13(ilse: Person, by: ByPerson, signed_in: SignedIn) -> None:
    issued(by=by(ilse))
    Customer.objects.update(name="<script>alert(1)</script>")

    content = signed_in(ilse).get(ADDRESS).content.decode()

    assert ("<script>alert" in content, "&lt;script&gt;alert(1)" in content) == (False, True)


def test_index_is_closed_to_technicians(tobiah: Person, signed_in: SignedIn) -> None:
    assert signed_in(tobiah).get(ADDRESS).status_code == 403


def test_index_sends_strangers_to_sign_in(client: Client, shop: object) -> None:
    response = client.get(ADDRESS)

    assert (response.status_code, response.headers["Location"]) == (302, "/people/sign-in/?next=/invoices/")


def test_index_needs_the_same_queries_at_any_length(
    ilse: Person, by: ByPerson, signed_in: SignedIn, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    client, rows, first = signed_in(ilse), [], issued(by=by(ilse))
    for more in (0, 99):
        copied(first, more)
        with django_assert_num_queries(7):
            rows.append(client.get(ADDRESS).content.decode().count('class="row-link"'))

    assert rows == [1, 50]
