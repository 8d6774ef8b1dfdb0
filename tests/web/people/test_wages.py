"""The owner reads and writes wages in the browser; nobody else does."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import Person, Wage
from tests.web.pages import text_of

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
TYPED = {"from_date": "2026-06-01", "hourly": "34.50", "burden": "22"}
pytestmark = pytest.mark.usefixtures("shop")


def address(person: Person) -> str:
    return f"/people/{person.pk}/wages/"


def test_wage_sent_twice_is_written_once(maren: Person, ilse: Person, signed_in: SignedIn, key: Key) -> None:
    client, body = signed_in(maren), TYPED | key()

    answers = [client.post(address(ilse), body) for _time in range(2)]

    page = text_of(client.get(address(ilse)))
    assert [one.headers["Location"] for one in answers] == [address(ilse)] * 2
    written = Wage.objects.filter(person=ilse).values_list("hourly_e4", "burden_e4")
    assert list(written) == [(345_000, 2_200)]
    assert [word in page for word in ("1 Jun 2026", "counts now", "$42.09")] == [True] * 3


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"from_date": "June"}, "from_date"),
        ({"hourly": ""}, "hourly"),
        ({"hourly": "-1"}, "hourly"),
        ({"burden": "501"}, "burden"),
    ],
)
def test_wage_that_is_none_is_said_at_its_field(
    *, maren: Person, ilse: Person, signed_in: SignedIn, key: Key, changes: dict[str, str], field: str
) -> None:
    response = signed_in(maren).post(address(ilse), TYPED | changes | key())

    assert (response.status_code, Wage.objects.filter(person=ilse).count()) == (422, 0)
    assert f'id="id_{field}_error"' in response.content.decode()


def test_wages_are_the_owners(ilse: Person, tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    for person in (ilse, tobiah):
        client = signed_in(person)
        answers = [client.get(address(tobiah)), client.post(address(tobiah), TYPED | key())]
        assert [one.status_code for one in answers] == [403, 403]


def test_wages_are_found_from_the_person(maren: Person, ilse: Person, signed_in: SignedIn) -> None:
    pages = [signed_in(maren).get(f"/people/{one.pk}/").content.decode() for one in (maren, ilse)]

    assert [address(one) in page for one, page in zip((maren, ilse), pages, strict=True)] == [True, True]
    assert ["change-roles" in page for page in pages] == [False, True]
