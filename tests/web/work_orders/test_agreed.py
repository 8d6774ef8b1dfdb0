"""The desk sees what goes beyond what was agreed, and where plan and work do not meet."""

from collections.abc import Callable
from decimal import Decimal
from html import unescape

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import UsePartInput, use_part
from shopapp.models import Person, Stage
from tests.factories.jobs import agreed_job, log_parts
from tests.models.rows import MOMENT
from tests.web.work_orders.posts import answer_to_get

SignedIn = Callable[[Person], Client]
By = Callable[[Person], Actor]


def test_desk_sees_amounts_rows_and_open_points(ilse: Person, by: By, signed_in: SignedIn) -> None:
    job = agreed_job(Stage.IN_HAND)
    data = UsePartInput(quantity=Decimal(2), description="Plug gasket", unit_cost=Decimal(10))
    row = use_part(job.pk, data, by=by(ilse))

    response = signed_in(ilse).get(f"/work-orders/{job.work_order_id}/agreed/")

    content = unescape(response.content.decode())
    # agreed 348.30; two gaskets at 10.00 and 60 % on top
    assert [amount in content for amount in ("$348.30", "$380.30", "$32.00")] == [True] * 3
    assert f"/work-orders/row/part_used-{row.pk}/" in content
    assert [
        words in content for words in ("Shaft seal, 2 each", "Gear oil, 1 L", "Fit the seals, 2.5 h")
    ] == [True] * 3


def test_amounts_are_not_for_technicians(tobiah: Person, signed_in: SignedIn) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    assert signed_in(tobiah).get(f"/work-orders/{job.work_order_id}/agreed/").status_code == 403


def test_looking_changes_nothing(ilse: Person, signed_in: SignedIn) -> None:
    job = agreed_job(Stage.IN_HAND)

    assert answer_to_get(signed_in(ilse), f"/work-orders/{job.work_order_id}/agreed/") == (200, True)


@pytest.mark.parametrize("count", [1, 60])
def test_agreed_page_takes_the_same_queries(
    ilse: Person, signed_in: SignedIn, django_assert_num_queries: DjangoAssertNumQueries, count: int
) -> None:
    job = agreed_job(Stage.IN_HAND)
    log_parts(job, ilse, count=count, at=MOMENT)
    client = signed_in(ilse)

    with django_assert_num_queries(12):
        client.get(f"/work-orders/{job.work_order_id}/agreed/")
