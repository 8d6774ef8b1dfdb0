"""The parts list, as each may see it."""

from collections.abc import Callable
from html import unescape

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.actions import search_texts
from shopapp.models import Part, Person
from tests.web.shared.hostile import NASTY_NAMES, row_counts

SignedIn = Callable[[Person], Client]


@pytest.fixture
def seal(shop: object) -> Part:
    row = Part.objects.create(
        number="SR-1188", description="Shaft seal", unit_price_e4=184_000, unit_cost_e4=91_300
    )
    search_texts.index(row)
    return row


@pytest.mark.parametrize(
    ("who", "price", "cost"), [("tobiah", False, False), ("ilse", True, False), ("maren", True, True)]
)
def test_list_shows_money_by_role(
    *, request: pytest.FixtureRequest, seal: Part, signed_in: SignedIn, who: str, price: bool, cost: bool
) -> None:
    client = signed_in(request.getfixturevalue(who))
    before = row_counts()

    content = unescape(client.get("/parts/").content.decode())

    assert ("SR-1188" in content, "18.40" in content, "9.13" in content) == (True, price, cost)
    assert ("/parts/new/" in content, row_counts() == before) == (price, True)


@pytest.mark.parametrize("question", ["sr1188", "SR 1188", "1188", "shaft", "sr-1188"])
def test_part_is_found_however_it_is_written(
    seal: Part, ilse: Person, signed_in: SignedIn, question: str
) -> None:
    content = signed_in(ilse).get("/parts/", {"q": question}, headers={"HX-Request": "true"}).content.decode()

    assert ("SR-1188" in content, "<html" in content) == (True, False)


def test_nothing_found_says_what_to_try(seal: Part, ilse: Person, signed_in: SignedIn) -> None:
    assert "No part fits “zz9”." in signed_in(ilse).get("/parts/", {"q": "zz9"}).content.decode()


def test_part_not_offered_is_listed_when_asked_for(seal: Part, ilse: Person, signed_in: SignedIn) -> None:
    Part.objects.update(is_active=False)
    client = signed_in(ilse)

    shown = [client.get("/parts/", {"all": wanted}).content.decode() for wanted in ("", "1")]

    assert ["SR-1188" in content for content in shown] == [False, True]


def test_switch_to_all_parts_keeps_the_question(seal: Part, ilse: Person, signed_in: SignedIn) -> None:
    client = signed_in(ilse)

    offered, everything = (
        client.get("/parts/", facts).content.decode() for facts in ({"q": "seal"}, {"q": "seal", "all": "1"})
    )

    assert 'href="?q=seal&amp;all=1"' in offered
    assert ['name="all" value="1"' in page for page in (offered, everything)] == [False, True]
    assert 'href="?q=seal"' in everything


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_list_shows_names_inert_t13(seal: Part, ilse: Person, signed_in: SignedIn, name: str) -> None:
    Part.objects.update(description=name[:200])

    assert "<script>alert" not in signed_in(ilse).get("/parts/").content.decode()


@pytest.mark.parametrize("count", [1, 60])
def test_list_takes_the_same_queries(
    ilse: Person, signed_in: SignedIn, django_assert_num_queries: DjangoAssertNumQueries, count: int
) -> None:
    Part.objects.bulk_create(Part(number=f"P-{place}", description="Part") for place in range(count))
    client = signed_in(ilse)

    with django_assert_num_queries(6):
        client.get("/parts/")
