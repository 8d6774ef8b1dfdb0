"""Money and the way home in the demo: deposits, bills, payments, credit notes, the customer is told."""

from decimal import Decimal

from shopapp.actions import invoice_drafts, invoices, payments, work_orders
from shopapp.actions.actor import Actor
from shopapp.actions.credit_notes import credit_invoice
from shopapp.calc.money import from_minor, to_minor
from shopapp.management.demo.world import Facts, Visit, World
from shopapp.models import Invoice, InvoiceKind, InvoiceLine, Payment, ToldHow
from shopapp.queries.invoices import balance_minor
from shopapp.queries.shop import the_shop


def deposit(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """Money on the visit before there is a bill."""
    data = payments.PaymentInput(
        amount=Decimal(facts["amount"]), method=facts["method"], note=facts.get("note", "")
    )
    payments.take_deposit(visit.work_order.pk, data, by=by)


def draft(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The bill is drawn up."""
    made = invoices.draft_invoice(visit.work_order.pk, by=by)
    if "purchase_order" in facts:
        whole = invoice_drafts.DraftInput(purchase_order=facts["purchase_order"])
        invoice_drafts.edit_draft(made.pk, whole, version=made.version, by=by)


def give(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """A line of the draft becomes a gift of the shop."""
    bill = Invoice.objects.get(work_order=visit.work_order, issued_at=None)
    line = InvoiceLine.objects.get(invoice=bill, description=facts["line"])
    gift = invoice_drafts.LineChange(description=line.description, is_goodwill=True, note=facts["reason"])
    invoice_drafts.change_line(line.pk, gift, version=bill.version, by=by)


def issue(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The bill gets its number; drawn up first where it is not yet."""
    made = invoices.draft_invoice(visit.work_order.pk, by=by)
    invoices.issue_invoice(made.pk, by=by)


def pay(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """What is owed on the last bill is paid, or the amount that is named."""
    bill = _last_bill(visit)
    currency = the_shop().currency
    named = facts.get("amount")
    minor = (
        balance_minor(bill) if named is None else to_minor(Decimal(named), currency=currency, field="amount")
    )
    if minor:
        amount = from_minor(minor, currency=currency)
        data = payments.PaymentInput(amount=amount, method=facts.get("method", "card"))
        payments.take_payment(bill.pk, data, by=by)


def credit(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The last bill is taken back whole."""
    credit_invoice(_last_bill(visit).pk, facts["reason"], by=by)


def refund(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """Money that pays no bill any more is given back."""
    paid = Payment.objects.filter(work_order=visit.work_order).latest("pk")
    data = payments.PaymentInput(
        amount=Decimal(facts["amount"]), method=facts["method"], note=facts.get("note", "")
    )
    payments.give_refund(paid.pk, data, by=by)


def _last_bill(visit: Visit) -> Invoice:
    bills = Invoice.objects.filter(work_order=visit.work_order, kind=InvoiceKind.INVOICE)
    return bills.exclude(issued_at=None).latest("pk")


def tell(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The customer is told that the boat is ready."""
    how = work_orders.TellInput(how=ToldHow(facts.get("how", ToldHow.PHONE)))
    work_orders.tell_customer(visit.work_order.pk, how, by=by)


def go_home(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The boat goes home."""
    taken_by = facts.get("to", visit.work_order.customer.name)
    work_orders.hand_back(visit.work_order.pk, work_orders.HandBackInput(gone_to=taken_by), by=by)


def let_go(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The owner lets the boat go with money owed on it."""
    taken_by = facts.get("to", visit.work_order.customer.name)
    data = work_orders.ReleaseInput(gone_to=taken_by, reason=facts["reason"])
    work_orders.release_boat(visit.work_order.pk, data, by=by)


def call_off(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The visit is called off before anything came of it."""
    taken_by = facts.get("to", visit.work_order.customer.name)
    data = work_orders.CancelInput(reason=facts["reason"], gone_to=taken_by)
    work_orders.cancel_visit(visit.work_order.pk, data, by=by)
