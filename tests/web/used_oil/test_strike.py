"""A row that is wrong is struck out with a reason and stays readable."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.actions.waste import HandOverInput, PutInInput, hand_over, put_in
from shopapp.models import Person, WasteContainer, WasteHandOver, WasteKind, WastePour

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
By = Callable[[Person], Actor]
TRAY = PutInInput(volume_ml=1_000, kind=WasteKind.USED_OIL, what="Drip tray")


def test_pour_is_struck_once_and_stays_readable(
    tobiah: Person, signed_in: SignedIn, key: Key, by: By, drum: WasteContainer
) -> None:
    row = put_in(drum.pk, TRAY, by=by(tobiah))
    client, address, sent = (
        signed_in(tobiah),
        f"/used-oil/row/pour-{row.pk}/strike/",
        {"reason": "twice"} | key(),
    )

    shown = client.get(address).content.decode()
    answers = [client.post(address, sent).headers["Location"] for _ in range(2)]
    detail = client.get(f"/used-oil/{drum.pk}/").content.decode()

    assert "Drip tray" in shown
    assert answers == [f"/used-oil/{drum.pk}/"] * 2
    assert WastePour.objects.get(pk=row.pk).struck_reason == "twice"
    assert ("struck out: twice" in detail, "4\xa0l (4.23\xa0US qt) of 60" in detail) == (True, True)


def test_hand_over_is_struck_by_the_desk_alone(
    ilse: Person, tobiah: Person, signed_in: SignedIn, key: Key, by: By, drum: WasteContainer
) -> None:
    taken = HandOverInput(volume_ml=500, collector="Inlet Oil Collection", taken_at=by(ilse).at)
    row = hand_over(drum.pk, taken, by=by(ilse))
    address, sent = f"/used-oil/row/hand_over-{row.pk}/strike/", {"reason": "other drum"} | key()

    answers = [signed_in(person).post(address, sent).status_code for person in (tobiah, ilse)]

    assert answers == [403, 302]
    assert WasteHandOver.objects.get().struck_reason == "other drum"


def test_strike_needs_a_reason(
    tobiah: Person, signed_in: SignedIn, key: Key, by: By, drum: WasteContainer
) -> None:
    row = put_in(drum.pk, TRAY, by=by(tobiah))

    answer = signed_in(tobiah).post(f"/used-oil/row/pour-{row.pk}/strike/", {"reason": " "} | key())

    assert (answer.status_code, "Why is it struck out? is missing." in answer.content.decode()) == (422, True)


@pytest.mark.parametrize("slug", ["pour-999999", "drum-1", "pour-x", "pour", "pour-" + "9" * 30])
def test_row_that_is_not_there_is_missing(ilse: Person, signed_in: SignedIn, slug: str) -> None:
    assert signed_in(ilse).get(f"/used-oil/row/{slug}/strike/").status_code == 404
