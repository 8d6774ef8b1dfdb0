"""The lists that leave the shop as tables: customers, parts, invoices, payments; whole, in batches.

Rows are fetched as they are written, each batch by a query of its own: nothing stays open while somebody's
slow line takes the file, and a list of any length needs the memory of one batch.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import Model, QuerySet
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.calc.money import from_e4
from shopapp.models import Customer, InvoiceKind, Part, PartCondition, Payment, PaymentMethod, Person, Unit
from shopapp.queries.invoices import balance_of, buyer_words, with_paid
from shopapp.queries.shop import the_shop
from shopapp.queries.shop_texts import ShopTexts, texts_of

AT_ONCE = 500

type Cell = str | int | Decimal | bool | date | datetime | None


@dataclass(frozen=True, kw_only=True)
class Table:
    """A table with its heads; the rows come while it is written."""

    name: str
    columns: tuple[str, ...]
    rows: Iterator[Sequence[Cell]]


def customer_table() -> Table:
    """Every customer as the desk sees them. One query for each 500."""
    heads = (_("Number"), _("Name"), _("Telephone"), _("Email"), _("Address"), _("Pays no tax"))
    more = (_("Why no tax is charged"), _("Number of the exemption"), _("Has an account"), _("Days to pay"))
    last = (_("Needs a purchase order number"), _("Note"))
    rows = (_customer(row) for row in in_batches(Customer.objects.all()))
    return Table(name=_("customers"), columns=heads + more + last, rows=rows)


def part_table(viewer: Person) -> Table:
    """Every part with what it sells for; costs are read and written only for who may see them."""
    sees_costs = access.may_see_costs(viewer)
    heads = (_("Number"), _("What it is"), _("Sold by"), _("Condition"), _("Offered now"), _("Tax"))
    money = (_("Sells for"), _("Costs us")) if sees_costs else (_("Sells for"),)
    parts = Part.objects.select_related("tax_code")
    found = in_batches(parts if sees_costs else parts.defer("unit_cost_e4"))
    rows = (_part(row, sees_costs=sees_costs) for row in found)
    return Table(name=_("parts"), columns=heads + money, rows=rows)


def invoice_table() -> Table:
    """Every issued invoice and credit note; what a credit note takes back stands below nought."""
    heads = (_("Number"), _("Kind"), _("Customer"), _("Work order"), _("Issued"), _("Tax date"), _("Due"))
    sums = (_("Without tax"), _("Tax"), _("Total"), _("Paid"), _("Owed"), _("Currency"))
    texts = texts_of(the_shop())
    issued = with_paid().filter(issued_at__isnull=False).select_related("customer", "work_order")
    rows = (_invoice(row, texts=texts) for row in in_batches(issued.defer("shown")))
    return Table(name=_("invoices"), columns=heads + sums, rows=rows)


def payment_table() -> Table:
    """Every payment with what was given back of it."""
    heads = (_("Receipt"), _("Received"), _("Amount"), _("Currency"), _("How"), _("Invoice"), _("Work order"))
    texts = texts_of(the_shop())
    payments = Payment.objects.select_related("invoice", "work_order", "taken_by").prefetch_related("refunds")
    rows = (_payment(row, texts=texts) for row in in_batches(payments))
    return Table(name=_("payments"), columns=(*heads, _("Taken by"), _("Note"), _("Given back")), rows=rows)


def in_batches[Row: Model](rows: "QuerySet[Row]") -> Iterator[Row]:
    """All rows by their keys; a row that comes meanwhile is at the end."""
    last = 0
    while batch := list(rows.filter(pk__gt=last).order_by("pk")[:AT_ONCE]):
        yield from batch
        last = batch[-1].pk


def _customer(row: Customer) -> Sequence[Cell]:
    how_to_reach = (row.pk, row.name, row.phone, row.email, row.address)
    tax = (row.is_tax_exempt, row.exemption_reason, row.exemption_number)
    return (*how_to_reach, *tax, row.is_account, row.payment_days, row.needs_purchase_order, row.note)


def _part(row: Part, *, sees_costs: bool) -> Sequence[Cell]:
    facts = (
        row.number,
        row.description,
        str(Unit(row.unit).label),
        str(PartCondition(row.condition).label),
        row.is_active,
        row.tax_code.name if row.tax_code is not None else None,
        _amount(row.unit_price_e4),
    )
    return (*facts, _amount(row.unit_cost_e4)) if sees_costs else facts


def _amount(e4: int | None) -> Decimal | None:
    return from_e4(e4) if e4 is not None else None


def _invoice(row: Any, *, texts: ShopTexts) -> Sequence[Cell]:
    sign = -1 if row.kind == InvoiceKind.CREDIT_NOTE else 1
    sums = (sign * row.without_tax_minor, sign * row.tax_minor, sign * row.total_minor)
    return (
        row.number,
        str(InvoiceKind(row.kind).label),
        buyer_words(row),
        row.work_order.number if row.work_order is not None else None,
        row.issue_date,
        row.tax_date,
        row.due_date,
        *(texts.exact(minor) for minor in (*sums, row.paid, balance_of(row))),
        texts.currency,
    )


def _payment(row: Payment, *, texts: ShopTexts) -> Sequence[Cell]:
    return (
        row.number,
        row.received_at,
        texts.exact(row.amount_minor),
        texts.currency,
        str(PaymentMethod(row.method).label),
        row.invoice.number if row.invoice is not None else None,
        row.work_order.number if row.work_order is not None else None,
        row.taken_by.name,
        row.note,
        texts.exact(sum(refund.amount_minor for refund in row.refunds.all())),
    )
