"""The owner signs somebody out everywhere."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Person

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def test_all_sign_ins_of_a_person_end(maren: Person, ilse: Person, signed_in: SignedIn, key: Key) -> None:
    theirs, owner = [signed_in(ilse) for _ in range(2)], signed_in(maren)

    response = owner.post(f"/people/{ilse.pk}/end-sessions/", key())

    assert response.headers["Location"] == f"/people/{ilse.pk}/"
    assert [client.get("/customers/").status_code for client in (*theirs, owner)] == [302, 302, 200]


def test_owner_stays_signed_in_where_she_is(maren: Person, signed_in: SignedIn, key: Key) -> None:
    elsewhere, here = signed_in(maren), signed_in(maren)

    here.post(f"/people/{maren.pk}/end-sessions/", key())

    assert (elsewhere.get("/customers/").status_code, here.get("/customers/").status_code) == (302, 200)
