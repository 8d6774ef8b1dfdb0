"""One more fee on the list."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import FeeRate, Person

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
ADDRESS = "/shop/add-fee/"
TYPED = {"name": "Lift out", "kind": "lift", "unit_price": "85.50", "unit": "each"}


def test_fee_is_added_once(maren: Person, signed_in: SignedIn, key: Key) -> None:
    client, sent = signed_in(maren), TYPED | key()

    answers = [client.post(ADDRESS, sent) for _ in range(2)]

    assert [answer.headers["Location"] for answer in answers] == ["/shop/terms/"] * 2
    assert list(FeeRate.objects.values_list("name", "unit_price_e4")) == [("Lift out", 855_000)]


@pytest.mark.parametrize(("field", "value"), [("name", ""), ("unit_price", "much"), ("kind", "mood")])
def test_fee_that_is_not_right_keeps_what_was_typed(
    maren: Person, signed_in: SignedIn, key: Key, field: str, value: str
) -> None:
    response = signed_in(maren).post(ADDRESS, TYPED | {field: value} | key())

    content = response.content.decode()
    assert (response.status_code, FeeRate.objects.count()) == (422, 0)
    assert f'href="#id_{field}"' in content


def test_fee_of_a_name_that_is_there_is_told_at_the_field(
    maren: Person, signed_in: SignedIn, key: Key
) -> None:
    client = signed_in(maren)
    client.post(ADDRESS, TYPED | key())

    response = client.post(ADDRESS, TYPED | key())

    assert (response.status_code, FeeRate.objects.count()) == (422, 1)
    assert "a name that no other fee has" in response.content.decode()
