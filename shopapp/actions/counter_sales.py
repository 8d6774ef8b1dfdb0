"""Sells over the counter: a walk-in takes a part and pays; bill, payment and receipt in one step."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import bill_sums, search_texts
from shopapp.actions.actor import Actor
from shopapp.actions.bill_sums import Drawn, Figures, Terms, figures_of
from shopapp.actions.invoices import seal
from shopapp.actions.locks import locked
from shopapp.actions.numbering import take_number
from shopapp.actions.payments import PaymentInput, book_payment
from shopapp.actions.refusals import Refused
from shopapp.actions.rights import desk_person
from shopapp.calc.errors import BadInput
from shopapp.calc.money import from_e4, from_minor, to_e4, to_milli
from shopapp.models import Customer, Invoice, InvoiceLine, LineKind, LineOrigin, Part, PaymentMethod, Unit
from shopapp.queries.prices import extra_price
from shopapp.queries.shop import local_day, tax_code_of_kind, the_shop

MOST_LINES = 50


@dataclass(frozen=True, kw_only=True)
class SaleLine:
    """What is sold: a part of the list by its number, or in words of its own; no price: the list's."""

    number: str = ""
    description: str = ""
    quantity: Decimal = Decimal(1)
    unit_price: Decimal | None = None


@dataclass(frozen=True, kw_only=True)
class SaleInput:
    """What goes over the counter, how it is paid, and whose name is on the bill (nobody's, as a rule)."""

    lines: Sequence[SaleLine]
    method: str
    customer: int | None = None


@transaction.atomic
def sell_over_counter(data: SaleInput, *, seen_minor: int, by: Actor) -> Invoice:
    """Issue the bill of a sale and book its payment, both at once; ``seen_minor`` is the total that was told.

    Locks the customer, the number series of bills and of receipts, then the chain head. A second sender
    with the same request key gets the first sale (``once``). If the power fails before the commit nothing
    was sold and no number is used; after it, bill and payment stand. Raises Refused when the total is
    another than was told, BadInput for a line that has no price, no words or a number nobody knows.
    """
    desk_person(by)
    if data.method not in PaymentMethod.values:
        raise BadInput("method", data.method, ", ".join(PaymentMethod.values))
    customer = _customer(data.customer)
    figures = sale_figures(data, by=by)
    if figures.total_minor != seen_minor:
        raise Refused(_("The total is another now. Look at it again before you take the money."))
    if figures.total_minor <= 0:
        raise Refused(_("There is nothing to pay."))
    day = local_day(the_shop(), by.at)
    sale = Invoice(customer=customer, created_at=by.at, tax_date=day)
    sale.save()
    bill_sums.write(sale, figures=figures)
    sale.issued_at, sale.issue_date, sale.due_date = by.at, day, day
    sale.number = take_number("invoice")
    # paid then and there: the bill says so
    sale.deposit_minor = sale.total_minor
    seal(sale)
    search_texts.index(sale)
    amount = from_minor(sale.total_minor, currency=the_shop().currency)
    data_paid = PaymentInput(amount=amount, method=data.method)
    book_payment(sale, data_paid, work_order=None, amount_minor=sale.total_minor, by=by)
    return sale


def sale_figures(data: SaleInput, *, by: Actor) -> Figures:
    """What a sale comes to now; nothing is written."""
    desk_person(by)
    if not 0 < len(data.lines) <= MOST_LINES:
        raise BadInput("number_1", "", _("at least one thing that is sold"))
    drawn = [Drawn(line=_line(line, place=place)) for place, line in enumerate(data.lines, start=1)]
    customer = Customer.objects.filter(pk=data.customer).first() if data.customer is not None else None
    return figures_of(drawn, terms=Terms(customer=customer, tax_date=local_day(the_shop(), by.at)))


def _customer(pk: int | None) -> Customer | None:
    if pk is None:
        return None
    customer = locked(Customer.objects.filter(pk=pk)).first()
    if customer is None:
        raise BadInput("customer", pk, _("a customer of the shop, or nobody"))
    return customer


def _line(line: SaleLine, *, place: int) -> InvoiceLine:
    part = _part(line.number, place=place)
    price = line.unit_price if line.unit_price is not None else _list_price(part)
    description = line.description.strip() or (part.description if part is not None else "")
    if not description:
        raise BadInput(f"description_{place}", "", _("what is sold, or the number of a part on the list"))
    if price is None:
        raise BadInput(f"unit_price_{place}", "", _("a price: the list has none for this"))
    if line.quantity <= 0:
        raise BadInput(f"quantity_{place}", line.quantity, _("a quantity above 0"))
    facts: dict[str, Any] = _facts_of(part)
    return InvoiceLine(
        origin=LineOrigin.SOLD,
        kind=LineKind.PART,
        number=part.number if part is not None else line.number,
        description=description,
        quantity_milli=to_milli(line.quantity, field=f"quantity_{place}"),
        unit_price_e4=to_e4(price, field=f"unit_price_{place}"),
        position=place,
        **facts,
    )


def _part(number: str, *, place: int) -> Part | None:
    if not number.strip():
        return None
    part = Part.objects.filter(number__iexact=number.strip(), is_active=True).first()
    if part is None:
        raise BadInput(
            f"number_{place}", number, _("the number of a part on the list, or none and words instead")
        )
    return part


def _facts_of(part: Part | None) -> dict[str, Any]:
    own_tax = part.tax_code_id if part is not None else None
    return {
        "part": part,
        "unit": part.unit if part is not None else Unit.EACH,
        "condition": part.condition if part is not None else "new",
        "tax_code_id": own_tax if own_tax is not None else tax_code_of_kind(LineKind.PART),
    }


def _list_price(part: Part | None) -> Decimal | None:
    """The part's own price, else its cost with the shop's markup."""
    if part is None:
        return None
    price_e4 = part.unit_price_e4
    if price_e4 is None and part.unit_cost_e4 is not None:
        price_e4 = extra_price(from_e4(part.unit_cost_e4))["unit_price_e4"]
    return from_e4(price_e4) if price_e4 is not None else None
