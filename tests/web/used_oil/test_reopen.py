"""A container that was put away is taken into use again."""

from collections.abc import Callable

from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.actions.waste import end_container
from shopapp.models import Person, WasteContainer
from tests.factories.waste import container_of

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
By = Callable[[Person], Actor]


def test_reopen_takes_into_use_again(
    ilse: Person, signed_in: SignedIn, key: Key, by: By, drum: WasteContainer
) -> None:
    end_container(drum.pk, by=by(ilse))

    answer = signed_in(ilse).post(f"/used-oil/{drum.pk}/reopen/", key())

    drum.refresh_from_db()
    assert (answer.status_code, drum.ended_at) == (302, None)


def test_reopen_says_when_the_name_is_in_use(
    ilse: Person, signed_in: SignedIn, key: Key, by: By, drum: WasteContainer
) -> None:
    end_container(drum.pk, by=by(ilse))
    container_of(by(ilse), name=drum.name)

    answer = signed_in(ilse).post(f"/used-oil/{drum.pk}/reopen/", key())

    assert answer.status_code == 422
    assert "a name that no other container in use has" in answer.content.decode()
