"""One person as the owner sees them."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Person

SignedIn = Callable[[Person], Client]


def test_person_stands_with_their_sign_ins(maren: Person, ilse: Person, signed_in: SignedIn) -> None:
    signed_in(ilse)

    text = signed_in(maren).get(f"/people/{ilse.pk}/").content.decode()

    assert [word in text for word in ("Ilse Brandt", "front desk", "Sign out everywhere", "Switch off")] == [
        True
    ] * 4
    assert "first-password" not in text


def test_owner_finds_no_switch_for_herself(maren: Person, signed_in: SignedIn) -> None:
    text = signed_in(maren).get(f"/people/{maren.pk}/").content.decode()

    assert ("Switch off" in text, "Give a first password" in text, "this one" in text) == (False, False, True)


def test_person_page_takes_seven_queries(
    maren: Person, ilse: Person, signed_in: SignedIn, django_assert_num_queries: Callable
) -> None:
    client = signed_in(maren)

    with django_assert_num_queries(7):
        assert client.get(f"/people/{ilse.pk}/").status_code == 200


def test_nobody_is_there_under_another_number(maren: Person, signed_in: SignedIn) -> None:
    assert signed_in(maren).get("/people/999999/").status_code == 404
