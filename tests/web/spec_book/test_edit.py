"""A family is put right, or offered no more."""

from collections.abc import Callable

from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import EngineFamily, Person
from tests.factories import EngineFactory
from tests.factories.spec_book import written_family
from tests.web.spec_book.test_new import TYPED

SignedIn = Callable[[Person], Client]
By = Callable[[Person], Actor]
Key = Callable[[], dict[str, str]]


def test_form_holds_what_stands_in_the_book(maren: Person, signed_in: SignedIn, by: By) -> None:
    family = written_family(by(maren))

    content = signed_in(maren).get(f"/spec-book/{family.pk}/edit/").content.decode()

    shown = [f'name="{name}" value="{value}"' for name, value in (("gear_ratio", "1.85"), ("power_to", "60"))]
    assert [one in content for one in shown] == [True, True]
    assert "Take the family out of the book" in content


def test_second_editor_sees_both_versions_t22(maren: Person, signed_in: SignedIn, by: By, key: Key) -> None:
    family = written_family(by(maren))
    address, client = f"/spec-book/{family.pk}/edit/", signed_in(maren)
    client.post(address, TYPED | {"version": "1", "covers": "to 2024"} | key())

    lost = client.post(address, TYPED | {"version": "1", "covers": "to 2030"} | key())

    content = lost.content.decode()
    assert (lost.status_code, EngineFamily.objects.get().covers) == (409, "to 2024")
    assert ("to 2024" in content, "to 2030" in content, 'name="version" value="2"' in content) == (True,) * 3


def test_family_of_an_engine_stays(maren: Person, signed_in: SignedIn, by: By) -> None:
    family = written_family(by(maren))
    EngineFactory(family=family)

    content = signed_in(maren).get(f"/spec-book/{family.pk}/edit/").content.decode()

    assert "Take the family out of the book" not in content
    assert "Engines belong to this family, so it stays." in content
