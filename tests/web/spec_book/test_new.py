"""A family is written into the book."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import EngineFamily, Person
from shopapp.web.spec_book.forms import FamilyForm
from tests.web.shared.hostile import troubles_with_bad_values

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
ADDRESS = "/spec-book/new/"
TYPED = {
    "make": "Petrel Marine",
    "name": "P60",
    "throttle_from": "5,000",
    "throttle_to": "6000",
    "throttle_page": "1-3",
    "is_active": "on",
}


def test_family_is_written_once(maren: Person, signed_in: SignedIn, key: Key) -> None:
    client, sent = signed_in(maren), TYPED | key()

    answers = [client.post(ADDRESS, sent) for _ in range(2)]

    row = EngineFamily.objects.get()
    assert [one.headers["Location"] for one in answers] == [f"/spec-book/{row.pk}/"] * 2
    assert (row.throttle_from_rpm, row.gear_ratio_e4) == (5_000, None)


def test_figure_without_its_page_is_asked_for(maren: Person, signed_in: SignedIn, key: Key) -> None:
    answer = signed_in(maren).post(ADDRESS, TYPED | {"throttle_page": ""} | key())

    content = answer.content.decode()
    assert (answer.status_code, EngineFamily.objects.count()) == (422, 0)
    assert "Give the page of the manual it came from." in content


def test_desk_may_not_write(ilse: Person, tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    answers = [signed_in(person).post(ADDRESS, TYPED | key()).status_code for person in (ilse, tobiah)]

    assert (answers, EngineFamily.objects.count()) == ([403, 403], 0)


def test_bad_values_are_answered(maren: Person, signed_in: SignedIn, key: Key) -> None:
    fields = [name for name in FamilyForm.base_fields if name != "is_active"]

    found = troubles_with_bad_values(signed_in(maren), ADDRESS, good=lambda: TYPED | key(), fields=fields)

    assert found == []
