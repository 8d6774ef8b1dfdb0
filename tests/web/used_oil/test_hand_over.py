"""What a collector took away is logged by the desk."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import Person, WasteContainer, WasteHandOver
from shopapp.web.used_oil.forms import HandOverForm
from tests.web.shared.hostile import troubles_with_bad_values

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
TYPED = {
    "collector": "Inlet Oil Collection",
    "volume": "4",
    "measure": "l",
    "taken_at": "2026-06-01T09:30",
    "paper_number": "C-118",
}


def address(row: WasteContainer) -> str:
    return f"/used-oil/{row.pk}/hand-over/"


def test_hand_over_is_logged_once(ilse: Person, signed_in: SignedIn, key: Key, drum: WasteContainer) -> None:
    client, sent = signed_in(ilse), TYPED | key()

    offered = client.get(address(drum)).content.decode()
    answers = [client.post(address(drum), sent).headers["Location"] for _ in range(2)]
    shown = client.get(f"/used-oil/{drum.pk}/").content.decode()

    assert 'name="volume" value="4"' in offered
    assert answers == [f"/used-oil/{drum.pk}/"] * 2
    assert WasteHandOver.objects.values_list("volume_ml", "paper_number").get() == (4_000, "C-118")
    assert ("C-118" in shown, "0\xa0ml (0\xa0US fl oz) of 60" in shown) == (True, True)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"taken_at": "2099-06-01T09:30"}, "a time that has passed"),
        ({"collector": ""}, "Who took it away? is missing."),
    ],
)
def test_hand_over_that_is_not_right_says_why(
    *,
    ilse: Person,
    signed_in: SignedIn,
    key: Key,
    drum: WasteContainer,
    changes: dict[str, str],
    sentence: str,
) -> None:
    answer = signed_in(ilse).post(address(drum), TYPED | changes | key())

    assert (answer.status_code, sentence in answer.content.decode()) == (422, True)
    assert not WasteHandOver.objects.exists()


def test_hand_over_is_for_the_desk(
    tobiah: Person, signed_in: SignedIn, key: Key, drum: WasteContainer
) -> None:
    assert signed_in(tobiah).post(address(drum), TYPED | key()).status_code == 403


def test_bad_values_are_answered(ilse: Person, signed_in: SignedIn, key: Key, drum: WasteContainer) -> None:
    found = troubles_with_bad_values(
        signed_in(ilse),
        address(drum),
        good=lambda: TYPED | key(),
        fields=HandOverForm.base_fields,
        hidden=("measure",),
    )

    assert found == []
