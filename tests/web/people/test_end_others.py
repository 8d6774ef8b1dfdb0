"""Ending all of one's sign-ins but the one in use."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Activity, Person

ADDRESS = "/people/sessions/end-others/"
SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def test_all_but_this_one_end(ilse: Person, maren: Person, signed_in: SignedIn, key: Key) -> None:
    others, hers = [signed_in(ilse) for _ in range(2)], signed_in(maren)
    here, form = signed_in(ilse), key()

    answers = [here.post(ADDRESS, form).headers["Location"] for _ in range(2)]

    assert answers == ["/people/sessions/"] * 2
    assert [client.get("/customers/").status_code for client in (*others, here, hers)] == [302, 302, 200, 200]
    assert Activity.objects.get(verb="end session").payload == '{"ended": 2}'
