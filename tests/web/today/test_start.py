"""Where the day begins."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import Person

pytestmark = pytest.mark.django_db
SignedIn = Callable[[Person], Client]


@pytest.mark.parametrize(
    ("who", "where"), [("ilse", "/today/"), ("maren", "/today/"), ("tobiah", "/work-orders/")]
)
def test_start_leads_each_to_their_own_page(
    request: pytest.FixtureRequest, signed_in: SignedIn, who: str, where: str
) -> None:
    person: Person = request.getfixturevalue(who)

    response = signed_in(person).get("/")

    assert (response.status_code, response.headers["Location"]) == (302, where)
