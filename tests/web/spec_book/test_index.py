"""The list of engine families: read by everybody in the shop."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import EngineFamily, Person
from tests.web.shared.hostile import NASTY_NAMES

SignedIn = Callable[[Person], Client]
ADDRESS = "/spec-book/"


@pytest.mark.parametrize(("who", "writes"), [("tobiah", False), ("ilse", False), ("maren", True)])
def test_everybody_reads_the_owner_writes(
    request: pytest.FixtureRequest, shop: object, signed_in: SignedIn, who: str, writes: bool
) -> None:
    EngineFamily.objects.create(make="Petrel Marine", name="P60")
    EngineFamily.objects.create(make="Sorrel", name="S4", is_active=False)
    client = signed_in(request.getfixturevalue(who))

    content = client.get(ADDRESS).content.decode()

    assert ("Petrel Marine P60" in content, "Sorrel S4" in content) == (True, False)
    assert ("/spec-book/new/" in content) == writes
    assert "Sorrel S4" in client.get(ADDRESS, {"all": "1"}).content.decode()


def test_empty_book_says_what_to_do(maren: Person, signed_in: SignedIn) -> None:
    assert "No engine family is written down yet." in signed_in(maren).get(ADDRESS).content.decode()


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_names_are_only_text_t13(maren: Person, signed_in: SignedIn, name: str) -> None:
    EngineFamily.objects.create(make=name, name=name, covers=name)

    assert "<script>alert(1)" not in signed_in(maren).get(ADDRESS).content.decode()
