"""Who works here, as the owner sees it."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import Person, SecondStep
from tests.factories import PersonFactory

ADDRESS = "/people/"
SignedIn = Callable[[Person], Client]


def test_people_stand_with_what_they_may_do(
    maren: Person, wen: Person, signed_in: SignedIn, stepped: Callable[[Person], SecondStep]
) -> None:
    PersonFactory(username="gone", name="Gone Away", is_active=False)
    stepped(wen)
    signed_in(wen)

    text = " ".join(signed_in(maren).get(ADDRESS).content.decode().split())

    assert text.index("Maren Falk</a>") < text.index("Wen Okafor</a>") < text.index("Gone Away</a>")
    assert (text.count("switched off</td>"), text.count(">on</td>"), text.count("in 1 browser<")) == (1, 1, 2)


@pytest.mark.parametrize("count", [1, 40])
def test_people_take_the_same_queries(
    maren: Person, signed_in: SignedIn, count: int, django_assert_num_queries: Callable
) -> None:
    PersonFactory.create_batch(count)
    client = signed_in(maren)

    with django_assert_num_queries(4):
        assert client.get(ADDRESS).status_code == 200


def test_people_are_the_owners_to_see(ilse: Person, tobiah: Person, signed_in: SignedIn) -> None:
    assert [signed_in(one).get(ADDRESS).status_code for one in (ilse, tobiah)] == [403, 403]
