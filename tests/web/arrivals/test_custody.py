"""The page of what goes in and out."""

import re
from collections.abc import Callable

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.actions.custody import CustodyInput, record_custody
from shopapp.models import CustodyEntry, Person, WorkOrder
from tests.web.shared.hostile import troubles_with_bad_values

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
By = Callable[[Person], Actor]


def test_several_things_go_out_in_one_go(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, key: Key, by: By
) -> None:
    record_custody(visit.pk, CustodyInput(thing="keys", move="in", who="Anna"), by=by(ilse))
    client = signed_in(ilse)

    response = client.post(
        f"/arrivals/{visit.pk}/custody/",
        {"thing": ["boat", "keys"], "move": "out", "who": "Anna Berg", "place": "home"} | key(),
    )

    visit.refresh_from_db()
    page = client.get(f"/arrivals/{visit.pk}/custody/").content.decode()
    assert response["Location"] == f"/arrivals/{visit.pk}/custody/"
    rows = CustodyEntry.objects.order_by("pk").values_list("thing", "move", "who")
    assert list(rows)[1:] == [("boat", "out", "Anna Berg"), ("keys", "out", "Anna Berg")]
    assert (visit.is_boat_here, visit.place) == (False, "home")
    assert (page.count(" out</span></td>"), "Boat went out" in page) == (2, True)
    # what is out is most likely to come back next
    assert 'name="move" value="in" required id="id_move_0" checked' in page


def test_keys_that_stayed_out_are_asked_for_once_the_boat_is_back(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, key: Key, by: By
) -> None:
    for thing, move in (("keys", "in"), ("keys", "out"), ("boat", "out")):
        record_custody(visit.pk, CustodyInput(thing=thing, move=move, who="Anna"), by=by(ilse))
    client = signed_in(ilse)

    back = client.post(f"/arrivals/{visit.pk}/take-back/", key(), follow=True)

    ticked = re.findall(r'name="(thing|move)" value="(\w+)"[^>]*checked', back.content.decode())
    assert ticked == [("thing", "keys"), ("move", "in")]


def test_one_impossible_thing_writes_none(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, key: Key
) -> None:
    response = signed_in(ilse).post(
        f"/arrivals/{visit.pk}/custody/", {"thing": ["boat", "keys"], "move": "out", "who": "Anna"} | key()
    )

    visit.refresh_from_db()
    assert (response.status_code, CustodyEntry.objects.count(), visit.is_boat_here) == (409, 0, True)


def test_out_to_nobody_is_told_at_its_field(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, key: Key
) -> None:
    response = signed_in(ilse).post(
        f"/arrivals/{visit.pk}/custody/", {"thing": "boat", "move": "out", "note": "Kept as typed"} | key()
    )

    content = response.content.decode()
    assert (response.status_code, CustodyEntry.objects.count()) == (422, 0)
    assert ("the name of whoever takes it" in content, "Kept as typed" in content) == (True, True)


@pytest.mark.parametrize("size", [1, 50])
def test_custody_takes_five_queries(
    ilse: Person,
    signed_in: SignedIn,
    visit: WorkOrder,
    by: By,
    django_assert_num_queries: DjangoAssertNumQueries,
    size: int,
) -> None:
    for number in range(size):
        moved = CustodyInput(thing="boat", move="moved", place=f"yard {number}")
        record_custody(visit.pk, moved, by=by(ilse))
    client = signed_in(ilse)

    with django_assert_num_queries(5):
        content = client.get(f"/arrivals/{visit.pk}/custody/").content.decode()

    assert content.count("was moved") == size + 1


def test_bad_values_are_answered(ilse: Person, signed_in: SignedIn, visit: WorkOrder, key: Key) -> None:
    found = troubles_with_bad_values(
        signed_in(ilse),
        f"/arrivals/{visit.pk}/custody/",
        good=lambda: {"thing": "boat", "move": "moved", "place": "bay"} | key(),
        fields=["thing", "move", "who", "place", "note"],
        hidden=["thing", "move"],
    )

    assert found == []
