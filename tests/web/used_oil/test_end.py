"""A container is put away."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Person, WasteContainer

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def test_end_puts_away_and_shows_it_there(
    ilse: Person, signed_in: SignedIn, key: Key, drum: WasteContainer
) -> None:
    client = signed_in(ilse)

    answer = client.post(f"/used-oil/{drum.pk}/end/", key())
    index = client.get("/used-oil/").content.decode()
    detail = client.get(f"/used-oil/{drum.pk}/").content.decode()

    assert answer.headers["Location"] == f"/used-oil/{drum.pk}/"
    assert ("by the book in it 4" in index, "/put-in/" in detail) == (True, False)


def test_end_is_for_the_desk_and_never_a_link(
    ilse: Person, tobiah: Person, signed_in: SignedIn, key: Key, drum: WasteContainer
) -> None:
    address = f"/used-oil/{drum.pk}/end/"

    assert [signed_in(tobiah).post(address, key()).status_code, signed_in(ilse).get(address).status_code] == [
        403,
        405,
    ]
    assert WasteContainer.objects.get().ended_at is None
