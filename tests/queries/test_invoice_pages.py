"""The page of one invoice: text ready to show, and nothing of what things cost the shop."""

from collections.abc import Callable
from dataclasses import asdict
from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shopapp.actions.actor import Actor
from shopapp.models import Person, Shop
from shopapp.queries.invoice_pages import LineRow, TaxText, invoice_page
from tests.factories.invoices import Planned, drafted, issued, paid

pytestmark = pytest.mark.django_db

ByPerson = Callable[[Person], Actor]
TODAY = date(2026, 6, 2)
OIL = Planned(
    kind="fluid",
    description="Gear oil",
    quantity_milli=750,
    unit="L",
    unit_price_e4=284_550,
    discount_e4=1_250,
)


def test_page_writes_lines_as_people_read_them(ilse: Person, by: ByPerson) -> None:
    draft = drafted([OIL], by=by(ilse))

    page = invoice_page(draft.pk, today=TODAY)

    assert page is not None
    assert [group.title for group in page.groups] == ["New water pump"]
    assert page.groups[0].lines == (
        LineRow(
            pk=draft.lines.get().pk,
            origin="plan",
            description="Gear oil",
            condition="",
            note="",
            number="PM-2214",
            quantity="0.75\u00a0L",
            unit_price="$28.455",
            discount="less 12.5\u00a0%",
            # by hand: 0.75 × 28.455 × 0.875 = 18.67359…
            amount="$18.67",
        ),
    )


def test_page_of_a_draft_has_no_days(ilse: Person, by: ByPerson) -> None:
    page = invoice_page(drafted(by=by(ilse)).pk, today=TODAY)

    assert page is not None
    assert (page.number, page.is_issued, page.may_be_paid) == ("Draft", False, False)
    assert (page.issued, page.tax_date, page.due) == ("–", "–", "–")


def test_page_sums_tax_payments_and_balance(ilse: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))
    paid(invoice, "22.80", by=by(ilse))

    page = invoice_page(invoice.pk, today=TODAY)

    assert page is not None
    assert page.taxes == (
        TaxText(name="Federal 5\u00a0%", tax="$3.25"),
        TaxText(name="Provincial 7\u00a0%", tax="$4.55"),
    )
    assert (page.without_tax, page.total, page.paid, page.owed) == ("$65.00", "$72.80", "$22.80", "$50.00")
    assert [(row.day, row.method, row.taken_by, row.amount) for row in page.payments] == [
        ("2 Jun 2026", "card", "Ilse Brandt", "$22.80")
    ]
    assert (page.balance, page.may_be_paid) == ("50.00", True)


def test_page_of_paid_invoice_takes_no_more(ilse: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))
    paid(invoice, "72.80", by=by(ilse))

    page = invoice_page(invoice.pk, today=TODAY)

    assert page is not None
    assert (page.may_be_paid, page.state.word, page.owed) == (False, "Paid", "$0.00")


def test_missing_invoice_has_no_page(shop: Shop) -> None:
    assert invoice_page(999, today=TODAY) is None


def test_page_holds_no_cost_of_the_shop(ilse: Person, by: ByPerson) -> None:
    page = invoice_page(issued(by=by(ilse)).pk, today=TODAY)

    assert page is not None
    assert [text for text in ("7654321", "765.4321", "765.43") if text in str(asdict(page))] == []


def test_page_needs_the_same_queries_at_any_length(ilse: Person, by: ByPerson) -> None:
    counts = []
    for length in (1, 100):
        invoice = issued([Planned()] * length, by=by(ilse))
        with CaptureQueriesContext(connection) as queries:
            page = invoice_page(invoice.pk, today=TODAY)
        assert page is not None
        counts.append((len(queries), len(page.groups[0].lines)))

    assert counts == [(5, 1), (5, 100)]
