"""The parts list as a file: prices for the desk, costs for the owner alone."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import Part, Person

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("shop")]


@pytest.mark.parametrize(
    ("who", "status", "price", "cost"),
    [("tobiah", 403, False, False), ("ilse", 200, True, False), ("maren", 200, True, True)],
)
def test_table_shows_money_by_role(
    *,
    request: pytest.FixtureRequest,
    signed_in: Callable[[Person], Client],
    who: str,
    status: int,
    price: bool,
    cost: bool,
) -> None:
    Part.objects.create(number="-1188", description="Shaft seal", unit_price_e4=184_000, unit_cost_e4=91_300)

    response = signed_in(request.getfixturevalue(who)).get("/parts/table/")

    text = response.getvalue().decode()
    assert (response.status_code, '"18.4000"' in text, '"9.1300"' in text) == (status, price, cost)
    assert ('"\'-1188"' in text) == price
