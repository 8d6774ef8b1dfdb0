"""What is owed, and the rows of the list of invoices."""

from collections.abc import Callable
from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shopapp.actions.actor import Actor
from shopapp.actions.invoices import draft_invoice, issue_invoice
from shopapp.models import Person, Shop
from shopapp.queries.invoices import InvoiceRow, InvoiceState, invoice_list, owed_minor
from tests.factories import WorkOrderFactory
from tests.factories.invoices import Planned, copied, drafted, finished_job, issued, paid

pytestmark = pytest.mark.django_db

ByPerson = Callable[[Person], Actor]
TODAY = date(2026, 6, 2)


def listed(*, is_open_only: bool = False, page: int = 1, today: date = TODAY) -> list[tuple[str, str, str]]:
    found = invoice_list(is_open_only=is_open_only, page=page, today=today)
    return [(row.number, row.owed, row.state.word) for row in found.rows]


def test_owed_is_none_before_an_invoice(ilse: Person, by: ByPerson) -> None:
    bare, draft = WorkOrderFactory.create(), drafted(by=by(ilse))

    assert (owed_minor(bare), owed_minor(draft.work_order)) == (None, None)


def test_owed_sums_every_invoice_of_a_visit(ilse: Person, by: ByPerson) -> None:
    visit = WorkOrderFactory.create(stage="ready")
    for price in (650_000, 100_000):
        finished_job([Planned(kind="labour", unit_price_e4=price)], work_order=visit)
        invoice = issue_invoice(draft_invoice(visit.pk, by=by(ilse)).pk, by=by(ilse))
        for part in ("1.00", "2.00"):
            paid(invoice, part, by=by(ilse))
    paid(issued(by=by(ilse)), "5.00", by=by(ilse))

    # by hand: 65.00 and 10.00 at 5 % are 68.25 and 10.50; 3.00 came in for each
    assert owed_minor(visit) == 6_825 + 1_050 - 600


def test_owed_is_nil_once_paid(ilse: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))
    paid(invoice, "72.80", by=by(ilse))

    assert owed_minor(invoice.work_order) == 0


def test_list_shows_number_state_and_owed(ilse: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))
    paid(invoice, "2.80", by=by(ilse))

    row = invoice_list(is_open_only=True, page=1, today=TODAY).rows[0]

    assert row == InvoiceRow(
        pk=invoice.pk,
        number="INV-00001",
        customer=invoice.customer.name,
        boat=invoice.work_order.vessel.name,
        issued="2 Jun 2026",
        total="$72.80",
        owed="$70.00",
        state=InvoiceState(chip="deep", sign="plus", word="Partly paid"),
    )


def test_list_tells_states_apart(ilse: Person, by: ByPerson) -> None:
    issued(by=by(ilse))
    paid(issued(by=by(ilse)), "1.00", by=by(ilse))
    paid(issued(by=by(ilse)), "72.80", by=by(ilse))
    drafted(by=by(ilse))

    expected = [
        ("Draft", "–", "Draft"),
        ("INV-00003", "$0.00", "Paid"),
        ("INV-00002", "$71.80", "Partly paid"),
        ("INV-00001", "$72.80", "To pay"),
    ]
    assert listed() == expected
    assert listed(is_open_only=True) == [expected[0], *expected[2:]]


@pytest.mark.parametrize(("today", "word"), [(date(2026, 6, 16), "To pay"), (date(2026, 6, 17), "Overdue")])
def test_invoice_is_overdue_after_its_day(today: date, word: str, ilse: Person, by: ByPerson) -> None:
    issued(by=by(ilse))

    assert [row[2] for row in listed(today=today)] == [word]


def test_list_sums_what_is_owed(ilse: Person, by: ByPerson) -> None:
    paid(issued(by=by(ilse)), "2.80", by=by(ilse))
    issued(by=by(ilse))
    drafted(by=by(ilse))

    assert invoice_list(is_open_only=True, page=1, today=TODAY).owed_altogether == "$142.80"


def test_empty_list_owes_nothing(shop: Shop) -> None:
    found = invoice_list(is_open_only=True, page=7, today=TODAY)

    assert (found.rows, found.owed_altogether, found.pager.number, found.pager.last) == ((), "$0.00", 1, 1)


def test_list_needs_four_queries_at_any_length(ilse: Person, by: ByPerson) -> None:
    counts, first = [], issued(by=by(ilse))
    for more in (0, 99):
        copied(first, more)
        with CaptureQueriesContext(connection) as queries:
            found = invoice_list(is_open_only=True, page=1, today=TODAY)
        counts.append((len(queries), len(found.rows)))

    assert counts == [(4, 1), (4, 50)]


def test_second_page_goes_on_where_first_ended(ilse: Person, by: ByPerson) -> None:
    first = issued(by=by(ilse))
    numbers = [one.number for one in (first, *copied(first, 51))]

    assert [row[0] for row in listed(page=1)] == numbers[:1:-1]
    assert [row[0] for row in listed(page=2)] == numbers[1::-1]
