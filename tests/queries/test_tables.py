"""The lists as tables: every row once, in a bounded number of queries, costs only for the owner."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.actions.credit_notes import credit_invoice
from shopapp.actions.payments import PaymentInput, take_payment
from shopapp.models import Customer, Part, Person
from shopapp.queries import tables
from shopapp.queries.tables import customer_table, invoice_table, part_table, payment_table
from tests.factories import CustomerFactory
from tests.factories.invoices import issued

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("shop")]


@pytest.mark.parametrize(("count", "queries"), [(1, 2), (7, 4)])
def test_every_customer_is_in_it_once(
    *,
    count: int,
    queries: int,
    monkeypatch: pytest.MonkeyPatch,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    monkeypatch.setattr(tables, "AT_ONCE", 3)
    CustomerFactory.create_batch(count, note="rings before eight")

    with django_assert_num_queries(queries):
        rows = list(customer_table().rows)

    known = Customer.objects.order_by("pk").values_list("pk", "name", "phone")
    assert [row[:3] for row in rows] == list(known)
    assert all(len(row) == len(customer_table().columns) for row in rows)


@pytest.mark.parametrize(("who", "last"), [("ilse", Decimal("18.4")), ("maren", Decimal("9.13"))])
def test_costs_are_the_owners(request: pytest.FixtureRequest, who: str, last: Decimal) -> None:
    Part.objects.create(
        number="SR-1188", description="Shaft seal", unit_price_e4=184_000, unit_cost_e4=91_300
    )
    viewer: Person = request.getfixturevalue(who)

    table = part_table(viewer)

    row = next(table.rows)
    assert (row[0], row[-1], len(row)) == ("SR-1188", last, len(table.columns))
    assert (Decimal("9.13") in row) == (who == "maren")


def test_invoices_with_what_was_paid_and_credited(ilse: Person, by: Callable[[Person], Actor]) -> None:
    desk = by(ilse)
    first, second = issued(by=desk), issued(by=desk)
    take_payment(first.pk, PaymentInput(amount=Decimal(10), method="card"), by=desk)
    note = credit_invoice(second.pk, "Wrong boat", by=desk)

    rows = {row[0]: dict(zip(invoice_table().columns, row, strict=True)) for row in invoice_table().rows}

    total = Decimal(first.total_minor) / 100
    assert (rows[first.number]["Total"], rows[first.number]["Owed"]) == (total, total - 10)
    assert (rows[note.number]["Total"], rows[second.number]["Owed"]) == (-Decimal(note.total_minor) / 100, 0)


def test_payments_name_what_they_pay(ilse: Person, by: Callable[[Person], Actor]) -> None:
    desk = by(ilse)
    bill = issued(by=desk)
    taken = take_payment(bill.pk, PaymentInput(amount=Decimal(10), method="card"), by=desk)

    [row] = payment_table().rows

    named = dict(zip(payment_table().columns, row, strict=True))
    assert (named["Receipt"], named["Invoice"], named["Amount"]) == (taken.number, bill.number, Decimal(10))
