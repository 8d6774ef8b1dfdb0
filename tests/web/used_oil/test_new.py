"""A container is taken into use by the desk."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Person, WasteContainer
from shopapp.web.used_oil.forms import ContainerForm
from tests.web.shared.hostile import troubles_with_bad_values

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
ADDRESS = "/used-oil/new/"
TYPED = {"name": "Oil drum", "kind": "used_oil", "volume": "200", "measure": "l"}


def test_container_is_taken_into_use_once(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    client, sent = signed_in(ilse), TYPED | key()

    answers = [client.post(ADDRESS, sent) for _ in range(2)]

    row = WasteContainer.objects.get()
    assert [one.headers["Location"] for one in answers] == [f"/used-oil/{row.pk}/"] * 2
    assert (row.name, row.kind, row.size_ml) == ("Oil drum", "used_oil", 200_000)


def test_name_in_use_is_said_at_its_field(
    ilse: Person, signed_in: SignedIn, key: Key, drum: WasteContainer
) -> None:
    answer = signed_in(ilse).post(ADDRESS, TYPED | key())

    assert (answer.status_code, WasteContainer.objects.count()) == (422, 1)
    assert "a name that no other container in use has" in answer.content.decode()


def test_new_is_for_the_desk(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    assert signed_in(tobiah).post(ADDRESS, TYPED | key()).status_code == 403


def test_bad_values_are_answered(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    found = troubles_with_bad_values(
        signed_in(ilse),
        ADDRESS,
        good=lambda: TYPED | key(),
        fields=ContainerForm.base_fields,
        hidden=("kind", "measure"),
    )

    assert found == []
