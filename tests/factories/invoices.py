"""Finished jobs that a customer approved, and invoices drawn up from them by the real actions."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from decimal import Decimal
from fractions import Fraction
from hashlib import sha256

from shopapp.actions.actor import Actor
from shopapp.actions.invoices import draft_invoice, issue_invoice
from shopapp.actions.payments import PaymentInput, take_payment
from shopapp.documents.canonical import canonical, digest
from shopapp.models import (
    Approval,
    ApprovedChoice,
    Decision,
    Invoice,
    Job,
    KindTax,
    Outcome,
    Payment,
    Quote,
    QuoteChoice,
    QuoteLine,
    QuoteOption,
    QuoteRevision,
    RevisionState,
    Stage,
    WorkOrder,
)
from shopapp.queries.shown import draft_content, revision_rows
from tests.factories.work_orders import JobFactory, WorkOrderFactory

DECIDED_AT = datetime(2026, 6, 1, 18, 0, tzinfo=UTC)
# a cost that must never leave the shop: searched for in answers and on paper
PLANTED_COST_E4 = 7_654_321


@dataclass(frozen=True, kw_only=True)
class Planned:
    """A planned line in the units of its columns: 65.00 for one gasket set unless told."""

    kind: str = "part"
    description: str = "Gasket set"
    number: str = "PM-2214"
    quantity_milli: int = 1_000
    unit: str = "each"
    unit_price_e4: int = 650_000
    discount_e4: int = 0
    payer: str = "customer"


@dataclass(frozen=True, kw_only=True)
class Offered:
    """What the approved option says."""

    title: str = "New water pump"
    way: str = "new"
    warranty_months: int = 12
    warranty_covers: str = "pump and labour"
    lines: Sequence[Planned] = field(default_factory=lambda: [Planned()])
    discount_e4: int = 0
    is_supplement: bool = False


def approve(job: Job, offered: Offered) -> QuoteOption:
    """A sent and approved quote for one job; what was shown is not the matter here."""
    number = f"TQ-{Quote.objects.count() + 1:05d}"
    quote = Quote.objects.create(
        work_order=job.work_order, number=number, is_supplement=offered.is_supplement
    )
    revision = QuoteRevision.objects.create(
        quote=quote,
        revision=1,
        created_at=DECIDED_AT,
        discount_e4=offered.discount_e4,
        discount_reason="Regular customer" if offered.discount_e4 else "",
    )
    choice = QuoteChoice.objects.create(revision=revision, job=job)
    option = QuoteOption.objects.create(
        choice=choice,
        position=1,
        way=offered.way,
        title=offered.title,
        days=3,
        warranty_months=offered.warranty_months,
        warranty_covers=offered.warranty_covers,
    )
    tax_codes = dict(KindTax.objects.values_list("kind", "tax_code_id"))
    QuoteLine.objects.bulk_create(
        QuoteLine(
            option=option,
            position=place,
            tax_code_id=tax_codes[line.kind],
            unit_cost_e4=PLANTED_COST_E4,
            **vars(line),
        )
        for place, line in enumerate(offered.lines, start=1)
    )
    _seal(revision)
    approval = Approval.objects.create(
        revision=revision,
        decision=Decision.APPROVED,
        without_tax_minor=sum(map(_coins, offered.lines)),
        with_tax_minor=0,
        signed_name="Sam Rivers",
        decided_at=DECIDED_AT,
        signed_sha256=sha256(number.encode()).hexdigest(),
    )
    ApprovedChoice.objects.create(approval=approval, choice=choice, option=option)
    QuoteRevision.objects.filter(pk=revision.pk).update(state=RevisionState.DECIDED)
    return option


def _coins(line: Planned) -> int:
    """What a line adds to the amount that was approved, in coins of 1/100 half up."""
    if line.payer != "customer":
        return 0
    exact = Fraction(line.quantity_milli * line.unit_price_e4, 100_000) * (
        1 - Fraction(line.discount_e4, 10_000)
    )
    return int(exact + Fraction(1, 2))


def _seal(revision: QuoteRevision) -> None:
    content = draft_content(revision_rows(revision.pk), at=DECIDED_AT)
    revision.state, revision.sent_at = RevisionState.SENT, DECIDED_AT
    revision.tax_date = date.fromisoformat(content["date"])
    revision.valid_until_date = date.fromisoformat(content["valid_until"])
    revision.shown = canonical(content)
    revision.shown_sha256 = digest(revision.shown)
    revision.save()


def finished_job(
    lines: Sequence[Planned] = (Planned(),), *, work_order: WorkOrder | None = None, **changes: object
) -> Job:
    """A job that is done, with an approved option of these lines; ``changes`` are fields of the job."""
    visit = work_order or WorkOrderFactory.create(stage=Stage.READY)
    job = JobFactory.create(
        **{
            "work_order": visit,
            "position": visit.jobs.count() + 1,
            "stage": Stage.READY,
            "outcome": Outcome.DONE,
            "cause": "Worn impeller",
            "correction": "Fitted a new impeller, ran it on the hose",
        }
        | changes
    )
    approve(job, Offered(lines=list(lines)))
    return job


def drafted(lines: Sequence[Planned] = (Planned(),), *, by: Actor) -> Invoice:
    """A draft for a finished job."""
    return draft_invoice(finished_job(lines).work_order_id, by=by)


def issued(lines: Sequence[Planned] = (Planned(),), *, by: Actor) -> Invoice:
    """An issued invoice for a finished job."""
    return issue_invoice(drafted(lines, by=by).pk, by=by)


def copied(invoice: Invoice, count: int) -> list[Invoice]:
    """So many more issued invoices like this one, as rows alone: lists show no more of them."""
    visits = WorkOrderFactory.create_batch(count, stage=Stage.READY)
    alike = {field.attname: getattr(invoice, field.attname) for field in Invoice._meta.concrete_fields}
    following = Invoice.objects.filter(kind=invoice.kind).count() + 1
    return Invoice.objects.bulk_create(
        Invoice(
            **alike
            | {
                "id": None,
                "work_order_id": visit.pk,
                "customer_id": visit.customer_id,
                "number": f"INV-{place:05d}",
            }
        )
        for place, visit in enumerate(visits, start=following)
    )


def paid(invoice: Invoice, amount: str, *, by: Actor) -> Payment:
    """Some of it came in by card."""
    return take_payment(invoice.pk, PaymentInput(amount=Decimal(amount), method="card"), by=by)
