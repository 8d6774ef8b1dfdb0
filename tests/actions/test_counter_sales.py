"""A walk-in takes a part and pays: bill, payment and receipt in one step, or nothing at all."""

import json
from collections.abc import Callable
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.counter_sales import SaleInput, SaleLine, sale_figures, sell_over_counter
from shopapp.actions.credit_notes import credit_invoice
from shopapp.actions.payments import PaymentInput, give_refund
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Invoice, NumberSeries, Part, Payment, Person, TaxCode
from shopapp.queries.invoices import balance_minor
from tests.factories import CustomerFactory

pytestmark = pytest.mark.django_db

ByPerson = Callable[[Person], Actor]


@pytest.fixture
def impeller(shop: object) -> Part:
    return Part.objects.create(number="SR-4410", description="Impeller", unit_price_e4=482_500)


def sale(*lines: SaleLine, method: str = "cash", customer: int | None = None) -> SaleInput:
    return SaleInput(lines=lines, method=method, customer=customer)


def test_sale_is_bill_payment_and_receipt(impeller: Part, ilse: Person, by: ByPerson) -> None:
    data = sale(SaleLine(number="sr-4410", quantity=Decimal(2)))

    sold = sell_over_counter(data, seen_minor=10_809, by=by(ilse))

    # by hand: 2 × 48.25 = 96.50; 5 % is 4.825 → 4.83, 7 % is 6.755 → 6.76
    assert (sold.number, sold.without_tax_minor, sold.total_minor) == ("INV-00001", 9_650, 10_809)
    payment = Payment.objects.get()
    assert (payment.number, payment.amount_minor, payment.method) == ("R-00001", 10_809, "cash")
    assert (sold.work_order, sold.customer, balance_minor(sold)) == (None, None, 0)
    line = sold.lines.get()
    assert (line.origin, line.part, line.description, line.job) == ("sold", impeller, "Impeller", None)
    shown = json.loads(sold.shown)
    assert (shown["buyer"]["name"], shown["totals"]["due_minor"]) == ("", 0)


def test_sale_in_words_of_its_own_and_a_named_buyer(ilse: Person, by: ByPerson) -> None:
    customer = CustomerFactory.create(is_tax_exempt=True, exemption_reason="Coast guard")
    line = SaleLine(description="Rope, 3 m", quantity=Decimal(3), unit_price=Decimal("1.255"))

    sold = sell_over_counter(sale(line, customer=customer.pk), seen_minor=377, by=by(ilse))

    # by hand: 3 × 1.255 = 3.765 → 3.77, no tax
    assert (sold.total_minor, sold.tax_minor, sold.customer) == (377, 0, customer)


def test_part_without_price_sells_at_cost_and_markup(ilse: Person, by: ByPerson) -> None:
    own = TaxCode.objects.get(name="Labour")
    Part.objects.create(number="X-1", description="Anode", unit_cost_e4=100_000, tax_code=own)

    figures = sale_figures(sale(SaleLine(number="X-1")), by=by(ilse))

    # by hand: 10.00 and 60 % is 16.00; its own tax code takes 5 %
    assert (figures.without_tax_minor, figures.total_minor) == (1_600, 1_680)


def test_other_total_than_told_sells_nothing(impeller: Part, ilse: Person, by: ByPerson) -> None:
    with pytest.raises(Refused, match="The total is another now"):
        sell_over_counter(sale(SaleLine(number="SR-4410")), seen_minor=1, by=by(ilse))

    assert (Invoice.objects.count(), Payment.objects.count(), Activity.objects.count()) == (0, 0, 0)
    assert NumberSeries.objects.count() == 0


@pytest.mark.parametrize(
    ("line", "field"),
    [
        (SaleLine(number="nobody's"), "number_1"),
        (SaleLine(), "description_1"),
        (SaleLine(description="Rope"), "unit_price_1"),
        (SaleLine(description="Rope", unit_price=Decimal(1), quantity=Decimal(0)), "quantity_1"),
    ],
)
def test_line_that_will_not_do_names_its_field(
    line: SaleLine, field: str, ilse: Person, by: ByPerson
) -> None:
    with pytest.raises(BadInput) as caught:
        sale_figures(sale(line), by=by(ilse))

    assert caught.value.field == field


def test_inactive_part_is_not_sold(impeller: Part, ilse: Person, by: ByPerson) -> None:
    Part.objects.update(is_active=False)

    with pytest.raises(BadInput, match="a part on the list"):
        sale_figures(sale(SaleLine(number="SR-4410")), by=by(ilse))


def test_sale_is_credited_and_its_money_given_back(impeller: Part, ilse: Person, by: ByPerson) -> None:
    sold = sell_over_counter(sale(SaleLine(number="SR-4410")), seen_minor=5_404, by=by(ilse))

    note = credit_invoice(sold.pk, "wrong impeller", by=by(ilse))
    give_refund(Payment.objects.get().pk, PaymentInput(amount=Decimal("54.04"), method="cash"), by=by(ilse))

    assert (note.total_minor, note.work_order, balance_minor(sold)) == (5_404, None, 0)


def test_technician_sells_nothing(impeller: Part, tobiah: Person, by: ByPerson) -> None:
    with pytest.raises(NotAllowed):
        sell_over_counter(sale(SaleLine(number="SR-4410")), seen_minor=5_404, by=by(tobiah))
