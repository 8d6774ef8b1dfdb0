"""Finding whoever arrives."""

from collections.abc import Callable
from html import escape

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.actions import search_texts
from shopapp.models import Customer, Person, Vessel
from tests.factories import CustomerFactory, EngineFactory, VesselFactory, WorkOrderFactory
from tests.web.shared.bad_values import tried_values
from tests.web.shared.hostile import NASTY_NAMES, row_counts

ADDRESS = "/arrivals/find/"
SignedIn = Callable[[Person], Client]


def boat_of(owner: Customer, **fields: str) -> Vessel:
    """An indexed boat with an engine and a visit."""
    vessel = VesselFactory(owner=owner, **fields)
    engine = EngineFactory(vessel=vessel, serial=f"PM60-{vessel.pk:05d}")
    search_texts.index(owner, vessel, engine)
    WorkOrderFactory(vessel=vessel)
    return vessel


def test_find_leads_to_the_arrival_of_the_boat(ilse: Person, signed_in: SignedIn) -> None:
    anna = CustomerFactory(name="Anna Berg", phone="604 555 0142")
    vessel = boat_of(anna, name="Kittiwake")
    before = row_counts()

    content = signed_in(ilse).get(ADDRESS, {"q": "0142"}).content.decode()

    for piece in (
        f'href="/arrivals/new/?vessel={vessel.pk}">Kittiwake</a>',
        f'href="/customers/{anna.pk}/">Anna Berg</a>',
        "604 555 0142",
        f"PM60-{vessel.pk:05d}",
        "1 Jun 2026, 08:00",
    ):
        assert content.count(piece) == 1, piece
    assert row_counts() == before


def test_find_leads_a_boatless_customer_to_their_arrival(ilse: Person, signed_in: SignedIn) -> None:
    anna = CustomerFactory(name="Anna Berg")
    search_texts.index(anna)

    content = signed_in(ilse).get(ADDRESS, {"q": "anna"}).content.decode()

    assert content.count(f'href="/arrivals/new/?customer={anna.pk}">Anna Berg</a>') == 1


@pytest.mark.parametrize(
    ("question", "sentence"),
    [
        ("", "Type a name, a telephone number, a boat, a hull number or a serial."),
        ("zzz", "Nothing fits “zzz”. Try fewer letters, or the last digits of the telephone."),
        ("<b>", "Nothing fits “&lt;b&gt;”."),
    ],
)
def test_find_without_a_hit_says_what_to_do(
    ilse: Person, signed_in: SignedIn, question: str, sentence: str
) -> None:
    content = signed_in(ilse).get(ADDRESS, {"q": question}).content.decode()

    assert content.count(sentence) == 1


def test_find_answers_htmx_with_the_results_only(ilse: Person, signed_in: SignedIn) -> None:
    boat_of(CustomerFactory(name="Anna Berg"), name="Kittiwake")

    response = signed_in(ilse).get(ADDRESS, {"q": "kitti"}, headers={"hx-request": "true"})

    content = response.content.decode()
    assert content.lstrip().startswith('<section id="find-results"')
    assert (content.count("Kittiwake</a>"), "<html" in content) == (1, False)
    assert "HX-Request" in response.headers["Vary"]


def test_find_brought_back_from_history_is_a_page(ilse: Person, signed_in: SignedIn) -> None:
    headers = {"hx-request": "true", "hx-history-restore-request": "true"}

    response = signed_in(ilse).get(ADDRESS, headers=headers)

    assert "<html" in response.content.decode()


@pytest.mark.parametrize("size", [1, 100])
def test_find_takes_eleven_queries(
    ilse: Person, signed_in: SignedIn, django_assert_num_queries: DjangoAssertNumQueries, size: int
) -> None:
    client = signed_in(ilse)
    for _ in range(size):
        boat_of(CustomerFactory(name="Anna Berg"), name="Anna")

    with django_assert_num_queries(11):
        response = client.get(ADDRESS, {"q": "anna"})

    assert response.content.decode().count("/arrivals/new/?vessel=") == min(size, 30)


def test_find_answers_any_question(ilse: Person, signed_in: SignedIn) -> None:
    client = signed_in(ilse)
    boat_of(CustomerFactory(name="Anna Berg"), name="Kittiwake")

    statuses = {client.get(ADDRESS, {"q": text[:8000]}).status_code for text in tried_values()}

    assert statuses == {200}


def test_technician_may_not_find_customers(tobiah: Person, signed_in: SignedIn) -> None:
    boat_of(CustomerFactory(name="Anna Berg"), name="Kittiwake")

    response = signed_in(tobiah).get(ADDRESS, {"q": "anna"}, headers={"hx-request": "true"})

    assert (response.status_code, b"Anna" in response.content) == (403, False)


def test_find_without_a_session_sends_the_page_to_sign_in(client: Client, shop: object) -> None:
    plain = client.get(ADDRESS)
    part = client.get(
        ADDRESS, headers={"hx-request": "true", "hx-current-url": "http://testserver/arrivals/find/"}
    )

    assert plain.headers["Location"] == "/people/sign-in/?next=/arrivals/find/"
    assert (part.status_code, part.headers["HX-Redirect"]) == (204, "/people/sign-in/?next=/arrivals/find/")


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_nasty_names_are_only_text_t13_t08(ilse: Person, signed_in: SignedIn, name: str) -> None:
    boat_of(CustomerFactory(name=name), name=name)

    content = signed_in(ilse).get(ADDRESS, {"q": name}).content.decode()

    # the search box, the boat, its owner
    assert (name in content, content.count(escape(name))) == (False, 3)
