"""Whether a customer's data may be erased, what of it would stay, and until when."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import F, Max, Q
from django.utils.translation import gettext as _

from shopapp.models import CLOSED_STAGES, Customer, Invoice, InvoiceKind, WorkOrder
from shopapp.queries.deposits import with_left
from shopapp.queries.invoices import with_paid
from shopapp.queries.personal_fields import REASONS, Fate
from shopapp.queries.seen_lately import months_after
from shopapp.queries.shop import the_shop

MONTHS_A_YEAR = 12
NUMBERS_TOLD = 5


@dataclass(frozen=True, kw_only=True)
class Kept:
    """What stays of a customer, and until when; ``reasons`` is empty where nothing has to."""

    reasons: tuple[str, ...]
    until: date | None
    years: int


@dataclass(frozen=True, kw_only=True)
class DataPage:
    """What is kept about a customer, and whether it may be erased; ``obstacle`` says why not."""

    pk: int
    name: str
    erased_at: datetime | None
    obstacle: str
    kept: Kept


def data_page(customer: Customer) -> DataPage:
    """The page about a customer's data. Seven queries at most."""
    is_gone = customer.erased_at is not None
    return DataPage(
        pk=customer.pk,
        name=customer.name,
        erased_at=customer.erased_at,
        obstacle="" if is_gone else obstacle_to_erasing(customer.pk),
        kept=kept_of(customer.pk),
    )


def visits_of(customer_pk: int) -> Q:
    """Work orders of a customer: as owner, or as the one who pays."""
    return Q(customer=customer_pk) | Q(people__customer=customer_pk)


def obstacle_to_erasing(customer_pk: int) -> str:
    """The sentence that stops it: open work, or money that is owed either way. Four queries at most."""
    visits = WorkOrder.objects.filter(visits_of(customer_pk))
    if open_visits := visits.exclude(stage__in=CLOSED_STAGES).values_list("number", flat=True).distinct():
        return _("There is open work: %(numbers)s. End or call off those visits first.") % {
            "numbers": _told(open_visits)
        }
    theirs = Q(customer=customer_pk) | Q(work_order__customer=customer_pk)
    owing = Q(kind=InvoiceKind.INVOICE, total_minor__gt=F("paid") + F("credited"))
    owed = with_paid().filter(theirs, owing, issued_at__isnull=False).values_list("number", flat=True)
    if owed:
        return _("Money is owed: %(numbers)s. Take the payment or credit the invoice first.") % {
            "numbers": _told(owed)
        }
    if Invoice.objects.filter(theirs, issued_at=None).exists():
        return _("The draft of an invoice is open. Issue or discard it first.")
    is_theirs = Q(work_order__customer=customer_pk) | Q(invoice__customer=customer_pk)
    rows = with_left().filter(is_theirs)
    if left := rows.filter(Q(left__gt=0)).values_list("number", flat=True):
        return _("Money of theirs is left over: %(numbers)s. Give it back first.") % {"numbers": _told(left)}
    return ""


def _told(numbers: Iterable[str | None]) -> str:
    listed = sorted({number for number in numbers if number})
    more = _("and more") if len(listed) > NUMBERS_TOLD else ""
    return ", ".join(filter(None, [*listed[:NUMBERS_TOLD], more]))


def kept_of(customer_pk: int) -> Kept:
    """What stays of a customer: bills and what they rest on, some years from the newest. Two queries."""
    years = the_shop().invoice_keep_years
    issued = Invoice.objects.filter(
        Q(customer=customer_pk) | Q(work_order__customer=customer_pk), issued_at__isnull=False
    )
    newest = issued.aggregate(day=Max("issue_date"))["day"]
    fates = (Fate.BOOKS, Fate.WHILE_BILLED, Fate.WORK, Fate.THING) if newest else (Fate.WORK, Fate.THING)
    return Kept(
        reasons=tuple(str(REASONS[fate]) for fate in fates),
        until=months_after(newest, years * MONTHS_A_YEAR) if newest else None,
        years=years,
    )
