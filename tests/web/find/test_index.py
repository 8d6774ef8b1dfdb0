"""One box for everything: as a page, and as answers under the box while somebody types."""

from collections.abc import Callable
from html import escape

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.actions import search_texts
from shopapp.models import Customer, Person, Vessel
from tests.factories import CustomerFactory, EngineFactory, JobFactory, VesselFactory, WorkOrderFactory
from tests.web.shared.bad_values import tried_values
from tests.web.shared.hostile import NASTY_NAMES, row_counts

ADDRESS = "/find/"
SignedIn = Callable[[Person], Client]
TYPING = {"hx-request": "true"}


def boat_of(owner: Customer, **fields: str) -> Vessel:
    """An indexed boat with an engine and a visit."""
    vessel = VesselFactory(owner=owner, **fields)
    engine = EngineFactory(vessel=vessel, serial=f"PM60-{vessel.pk:05d}")
    order = WorkOrderFactory(vessel=vessel)
    search_texts.index(owner, vessel, engine, order)
    return vessel


def test_find_leads_to_boat_customer_and_open_visit(ilse: Person, signed_in: SignedIn) -> None:
    anna = CustomerFactory(name="Anna Berg", phone="604 555 0142")
    vessel = boat_of(anna, name="Kittiwake")
    visit = vessel.work_orders.get()
    before = row_counts()

    content = signed_in(ilse).get(ADDRESS, {"q": "0142"}).content.decode()

    for piece in (
        f'href="/customers/vessel/{vessel.pk}/" data-answer>Kittiwake</a>',
        f'href="/customers/{anna.pk}/" data-answer>Anna Berg</a>',
        f'href="/work-orders/{visit.pk}/" data-answer>{visit.number}</a>',
        f'href="/arrivals/new/?customer={anna.pk}" data-answer>Take in a boat of Anna Berg</a>',
        "2 answers to “0142”",
    ):
        assert content.count(piece) == 1, piece
    assert "?vessel=" not in content
    assert row_counts() == before


def test_find_offers_to_take_in_a_boat_that_is_not_here(ilse: Person, signed_in: SignedIn) -> None:
    vessel = VesselFactory(name="Kittiwake")
    search_texts.index(vessel)

    content = signed_in(ilse).get(ADDRESS, {"q": "kitti"}).content.decode()

    link = f'href="/arrivals/new/?vessel={vessel.pk}" data-answer>Take Kittiwake in</a>'
    assert content.count(link) == 1


@pytest.mark.parametrize(
    ("question", "sentence"),
    [
        ("", "Type into the box above: a name, the last digits of a telephone number"),
        ("zzz", "Nothing fits “zzz”. Try fewer letters, or the last digits of the telephone."),
        ("<b>", "Nothing fits “&lt;b&gt;”."),
    ],
)
def test_find_without_a_hit_says_what_to_do(
    ilse: Person, signed_in: SignedIn, question: str, sentence: str
) -> None:
    content = signed_in(ilse).get(ADDRESS, {"q": question}).content.decode()

    assert content.count(sentence) == 1


def test_find_answers_under_the_box_while_typing(ilse: Person, signed_in: SignedIn) -> None:
    boat_of(CustomerFactory(name="Anna Berg"), name="Kittiwake")

    response = signed_in(ilse).get(ADDRESS, {"q": "kitti"}, headers=TYPING)

    content = response.content.decode()
    assert content.lstrip().startswith('<div id="find-answers"')
    assert (content.count("Kittiwake</a>"), "<html" in content) == (1, False)
    assert "HX-Request" in response.headers["Vary"]


def test_emptied_box_takes_the_answers_away(ilse: Person, signed_in: SignedIn) -> None:
    content = signed_in(ilse).get(ADDRESS, {"q": " "}, headers=TYPING).content.decode()

    assert "".join(content.split()) == '<divid="find-answers"class="found"></div>'


def test_find_brought_back_from_history_is_a_page(ilse: Person, signed_in: SignedIn) -> None:
    headers = TYPING | {"hx-history-restore-request": "true"}

    response = signed_in(ilse).get(ADDRESS, headers=headers)

    assert "<html" in response.content.decode()


@pytest.mark.parametrize("size", [1, 100])
def test_find_takes_eight_queries(
    ilse: Person, signed_in: SignedIn, django_assert_num_queries: DjangoAssertNumQueries, size: int
) -> None:
    client = signed_in(ilse)
    for _ in range(size):
        boat_of(CustomerFactory(name="Anna Berg"), name="Anna")

    with django_assert_num_queries(8):
        response = client.get(ADDRESS, {"q": "anna"})

    assert response.content.decode().count('href="/customers/vessel/') == min(size, 12)


def test_find_answers_any_question(ilse: Person, signed_in: SignedIn) -> None:
    client = signed_in(ilse)
    boat_of(CustomerFactory(name="Anna Berg"), name="Kittiwake")

    statuses = {client.get(ADDRESS, {"q": text[:8000]}).status_code for text in tried_values()}

    assert statuses == {200}


def test_technician_finds_nothing_of_others(tobiah: Person, signed_in: SignedIn) -> None:
    boat_of(CustomerFactory(name="Anna Berg"), name="Kittiwake")

    answers = [
        signed_in(tobiah).get(ADDRESS, {"q": question}, headers=headers).content.decode()
        for question in ("anna", "kittiwake", "604", "t-")
        for headers in ({}, TYPING)
    ]

    assert [("Anna Berg" in text, "Kittiwake" in text, "data-answer" in text) for text in answers] == [
        (False, False, False)
    ] * 8


def test_technician_finds_their_own_visit(tobiah: Person, signed_in: SignedIn) -> None:
    vessel = boat_of(CustomerFactory(name="Anna Berg", phone="604 555 0142"), name="Kittiwake")
    visit = vessel.work_orders.get()
    JobFactory(work_order=visit, technician=tobiah)

    content = signed_in(tobiah).get(ADDRESS, {"q": "kitti"}).content.decode()

    assert content.count(f'href="/work-orders/{visit.pk}/" data-answer>{visit.number}</a>') == 1
    assert ("604 555 0142" in content, "/customers/" in content, "/arrivals/" in content) == (
        False,
        False,
        False,
    )


def test_find_without_a_session_sends_the_page_to_sign_in(client: Client, shop: object) -> None:
    plain = client.get(ADDRESS)
    part = client.get(ADDRESS, headers=TYPING | {"hx-current-url": "http://testserver/work-orders/"})

    assert plain.headers["Location"] == "/people/sign-in/?next=/find/"
    assert (part.status_code, part.headers["HX-Redirect"]) == (204, "/people/sign-in/?next=/work-orders/")


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_nasty_names_are_only_text_t13_t08(ilse: Person, signed_in: SignedIn, name: str) -> None:
    boat_of(CustomerFactory(name=name), name=name)

    content = signed_in(ilse).get(ADDRESS, {"q": name}).content.decode()

    # title, box, sentence, boat, its owner, the customer, the way to take in a boat of theirs
    assert (name in content, content.count(escape(name))) == (False, 7)
