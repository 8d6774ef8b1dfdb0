"""A family on one page, each value with its page in the manual."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Bulletin, EngineFamily, KnownFault, Person
from tests.factories.spec_book import written_family
from tests.web.shared.hostile import NASTY_NAMES

SignedIn = Callable[[Person], Client]
By = Callable[[Person], Actor]


@pytest.mark.parametrize(("who", "writes"), [("tobiah", False), ("ilse", False), ("maren", True)])
def test_family_is_read_by_all_and_written_by_the_owner(
    request: pytest.FixtureRequest, *, maren: Person, signed_in: SignedIn, by: By, who: str, writes: bool
) -> None:
    family = written_family(by(maren))

    content = signed_in(request.getfixturevalue(who)).get(f"/spec-book/{family.pk}/").content.decode()

    assert ("Gearcase" in content, "it wins" in content, "4-12" in content) == (True, True, True)
    assert ("/spec-book/value/" in content, f"/spec-book/{family.pk}/edit/" in content) == (writes, writes)


def test_family_that_is_missing_is_404(maren: Person, signed_in: SignedIn) -> None:
    assert signed_in(maren).get("/spec-book/999999/").status_code == 404


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_words_are_only_text_t13(maren: Person, signed_in: SignedIn, name: str) -> None:
    family = EngineFamily.objects.create(make=name, name=name)
    KnownFault.objects.create(family=family, text=name, page=name)
    Bulletin.objects.create(family=family, number=name, text=name, page=name)

    content = signed_in(maren).get(f"/spec-book/{family.pk}/").content.decode()

    assert "<script>alert(1)" not in content
