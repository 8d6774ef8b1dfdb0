"""How a sent quote gets its answer: the link that is out, what was asked, and what a call must write down."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from shopapp.models import (
    UNSENT,
    CustomerLink,
    LinkPurpose,
    PartInVisit,
    QuoteRevision,
    RevisionState,
    Shop,
    VisitPerson,
    WorkOrder,
)
from shopapp.queries.approvals import agreed_besides
from shopapp.queries.customer_quotes import CustomerPage
from shopapp.queries.questions import Asked, questions_of
from shopapp.queries.shop_texts import texts_of


@dataclass(frozen=True, kw_only=True)
class SentLink:
    """A link on the customer's own phone that is open, and where it went. Its token is not kept."""

    sent_to: str
    sent_at: datetime
    expires_at: datetime


@dataclass(frozen=True, kw_only=True)
class Answering:
    """What the desk sees beside a sent quote."""

    link: SentLink | None
    questions: tuple[Asked, ...]


@dataclass(frozen=True, kw_only=True)
class MaySay:
    """Somebody who may answer: a name, a number, and what they are to the boat."""

    name: str
    phone: str
    word: str


@dataclass(frozen=True, kw_only=True)
class Sums:
    """What is agreed, what is added now, and what it comes to; without tax, ready to show."""

    before: str
    adds: str
    after: str


@dataclass(frozen=True, kw_only=True)
class CallPage:
    """The page on which the desk writes down an answer that came by telephone or email."""

    pk: int
    number: str
    work_order_pk: int
    work_order: str
    is_supplement: bool
    customer: CustomerPage
    people: tuple[MaySay, ...]
    sums: Sums


def answering(revision: QuoteRevision, *, at: datetime) -> Answering:
    """The open link and the questions; two queries at most, none for a draft, which nobody else sees."""
    if revision.state in UNSENT:
        return Answering(link=None, questions=())
    return Answering(link=_open_link(revision, at=at), questions=questions_of(revision))


def _open_link(revision: QuoteRevision, *, at: datetime) -> SentLink | None:
    if revision.state != RevisionState.SENT:
        return None
    rows = CustomerLink.objects.filter(
        revision=revision, purpose=LinkPurpose.PHONE, revoked_at__isnull=True, expires_at__gt=at
    )
    link = rows.order_by("-pk").first()
    if link is None:
        return None
    return SentLink(sent_to=link.sent_to, sent_at=link.created_at, expires_at=link.expires_at)


def call_page(revision: QuoteRevision, customer: CustomerPage, *, shop: Shop) -> CallPage:
    """The page for a sent revision (from ``queries.shown.revision_rows``); four queries at most."""
    work_order = revision.quote.work_order
    adds = Decimal(customer.picked.totals["without_tax"]) if customer.picked else Decimal(0)
    return CallPage(
        pk=revision.pk,
        number=revision.quote.number,
        work_order_pk=work_order.pk,
        work_order=work_order.number,
        is_supplement=revision.quote.is_supplement,
        customer=customer,
        people=who_may_say(work_order),
        sums=sums_with(agreed_besides(revision), adds, shop=shop),
    )


def sums_with(agreed_minor: int, adds: Decimal, *, shop: Shop) -> Sums:
    """What would be agreed with so much more, without tax. No query."""
    texts = texts_of(shop)
    before = texts.exact(agreed_minor)
    return Sums(before=texts.amount(before), adds=texts.amount(adds), after=texts.amount(before + adds))


def who_may_say(work_order: WorkOrder) -> tuple[MaySay, ...]:
    """The owner of the boat first, then who says yes for them. One query."""
    customer = work_order.customer
    approvers = VisitPerson.objects.filter(work_order=work_order, part=PartInVisit.APPROVER)
    return (
        MaySay(name=customer.name, phone=customer.phone, word=""),
        *(MaySay(name=one.name, phone=one.phone, word=str(one.get_part_display())) for one in approvers),
    )
