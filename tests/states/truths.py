"""What must be true of a shop at any moment, whatever happened before; sums are told by the oracle."""

import hashlib
import json
from collections.abc import Iterable
from datetime import UTC
from fractions import Fraction

from django.db.models import Model

from shopapp.models import (
    Allocation,
    Approval,
    ApprovedChoice,
    Invoice,
    InvoiceLine,
    InvoiceTax,
    Job,
    NumberSeries,
    Payment,
    Quote,
    QuoteChoice,
    QuoteLine,
    QuoteOption,
    QuoteRevision,
    Refund,
    WorkOrder,
)
from tests.states.oracle import Habits, Sold, sums

ORDER = ["booked", "here", "diagnosis", "with_customer", "in_line", "in_hand", "test", "ready"]
type Snapshot = dict[tuple[str, int], dict[str, object]]


def sold(lines: Iterable[QuoteLine | InvoiceLine]) -> list[Sold]:
    """Lines as the oracle takes them."""
    return [
        Sold(
            kind=line.kind,
            quantity_milli=line.quantity_milli,
            unit_price_e4=line.unit_price_e4,
            discount_e4=line.discount_e4,
        )
        for line in lines
    ]


def habits(work_order: WorkOrder, shop_habits: Habits) -> Habits:
    """The shop's habits towards this customer."""
    exempt = work_order.customer.is_tax_exempt
    return Habits(shop_habits.is_half_to_even, shop_habits.is_taxed_by_line, exempt)


def check_numbers() -> None:
    """Each series runs from 1 without gap or repeat, and the next number is the one after the last."""
    following = dict(NumberSeries.objects.values_list("code", "next_value"))
    for code, prefix, rows in (
        ("work_order", "W", WorkOrder.objects.all()),
        ("quote", "Q", Quote.objects.all()),
        ("invoice", "INV", Invoice.objects.filter(kind="invoice")),
        ("credit_note", "CN", Invoice.objects.filter(kind="credit_note")),
    ):
        numbers = sorted(rows.exclude(number=None).values_list("number", flat=True))
        assert numbers == [f"{prefix}-{value:05d}" for value in range(1, len(numbers) + 1)]
        assert following.get(code, 1) == len(numbers) + 1


def check_invoices(shop_habits: Habits) -> None:
    """Lines add up, taxes by name and rate add up, payments never exceed the total (invariant 1).

    A credit note has the sums of what it takes back, to the coin, and then nothing is paid on that any more.
    """
    issued = Invoice.objects.exclude(issued_at=None).exclude(work_order=None)
    for invoice in issued.select_related("work_order__customer", "credits"):
        lines = list(InvoiceLine.objects.filter(invoice=invoice).order_by("position"))
        told = sums(sold(lines), habits(invoice.work_order, shop_habits))
        taxes = {
            (tax.name, Fraction(tax.rate_e6, 1_000_000)): (tax.taxable_minor, tax.tax_minor)
            for tax in InvoiceTax.objects.filter(invoice=invoice, category="S")
        }
        assert tuple(line.amount_minor for line in lines) == told.lines
        assert (invoice.without_tax_minor, invoice.total_minor) == (told.without_tax, told.total)
        assert taxes == told.taxes
        assert invoice.tax_minor == sum(tax for _, tax in told.taxes.values())
        paid = sum(Allocation.objects.filter(invoice=invoice).values_list("amount_minor", flat=True))
        is_credited = Invoice.objects.filter(credits=invoice).exclude(issued_at=None).exists()
        assert paid == 0 if is_credited or invoice.credits else 0 <= paid <= told.total
        assert invoice.credits is None or invoice.credits.total_minor == invoice.total_minor
        assert is_hash_of(invoice.shown, invoice.shown_sha256)


def is_hash_of(text: str, sha256: str) -> bool:
    """The text is canonical JSON and this is its hash."""
    canonical = json.dumps(json.loads(text), sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return canonical == text and hashlib.sha256(text.encode()).hexdigest() == sha256


def check_approvals(shop_habits: Habits) -> None:
    """What was approved is what was shown, for the total of exactly what was chosen (invariant 4)."""
    for approval in Approval.objects.select_related("revision__quote__work_order__customer"):
        revision = approval.revision
        answers = ApprovedChoice.objects.filter(approval=approval)
        chosen = dict(answers.values_list("choice_id", "option_id"))
        lines = QuoteLine.objects.filter(option__in=[one for one in chosen.values() if one], payer="customer")
        told = sums(sold(lines), habits(revision.quote.work_order, shop_habits))
        assert set(chosen) == set(QuoteChoice.objects.filter(revision=revision).values_list("pk", flat=True))
        assert (approval.without_tax_minor, approval.with_tax_minor) == (told.without_tax, told.total)
        assert is_hash_of(revision.shown, revision.shown_sha256)
        assert approval.signed_sha256 == signed_hash(approval, chosen)
        assert revision.state == "decided"


def check_nothing_changed_since_it_was_shown(approval: Approval) -> None:
    """At the moment of the answer the rows still say what the customer read (invariant 4)."""
    shown = json.loads(approval.revision.shown)["facts"]
    rows = Job.objects.filter(choices__revision=approval.revision)
    assert {key: (job["complaint"], job["cause"]) for key, job in shown["jobs"].items()} == {
        str(row.pk): (row.complaint, row.cause) for row in rows
    }
    assert shown["customer"] == approval.revision.quote.work_order.customer.name


def signed_hash(approval: Approval, chosen: dict[int, int | None]) -> str:
    """The hash that the signature must have, computed here from the rows alone."""
    signed = {
        "chosen": {str(choice): option for choice, option in chosen.items()},
        "decision": approval.decision,
        "name": approval.signed_name,
        "reason": approval.reason,
        "shown": hashlib.sha256(approval.revision.shown.encode()).hexdigest(),
        "strokes": hashlib.sha256(approval.strokes.encode()).hexdigest(),
        "time": approval.decided_at.astimezone(UTC).isoformat(timespec="microseconds"),
        "with_tax_minor": approval.with_tax_minor,
        "without_tax_minor": approval.without_tax_minor,
        "witness": approval.witness_id,
    }
    text = json.dumps(signed, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def check_shown_lines() -> None:
    """What a sent revision shows of its lines is what the rows say: words, quantities, prices, discounts."""
    for revision in QuoteRevision.objects.exclude(state="draft"):
        shown = json.loads(revision.shown)
        options = {one["option"]: one for job in shown["jobs"] for one in job["options"]}
        rows = QuoteOption.objects.filter(choice__revision=revision).prefetch_related("lines")
        assert set(options) == {row.pk for row in rows}
        for row in rows:
            assert options[row.pk]["title"] == row.title
            lines = sorted(row.lines.all(), key=lambda line: line.position)
            assert [figures_shown(line) for line in options[row.pk]["lines"]] == [
                (line.description, line.quantity_milli, line.unit_price_e4, line.discount_e4, line.payer)
                for line in lines
            ]


def figures_shown(line: dict[str, str]) -> tuple[str, Fraction, Fraction, Fraction, str]:
    """A shown line in the units of the columns."""
    return (
        line["description"],
        Fraction(line["quantity"]) * 1_000,
        Fraction(line["unit_price"]) * 10_000,
        Fraction(line["discount"]) * 10_000,
        line["payer"],
    )


def check_stages() -> None:
    """A visit stands where its least advanced open job stands."""
    for work_order in WorkOrder.objects.prefetch_related("jobs"):
        stages = [job.stage for job in work_order.jobs.all()]
        open_stages = [stage for stage in stages if stage in ORDER]
        over = "gone" if "gone" in stages else "cancelled"
        expected = min(open_stages, key=ORDER.index) if open_stages else over
        assert work_order.stage == expected
        # nobody works on what was not agreed, but for small work under the signed limit
        for job in work_order.jobs.all():
            is_agreed = ApprovedChoice.objects.filter(choice__job=job).exclude(option=None).exists()
            is_small = job.limit_share_minor is not None
            assert is_agreed or is_small or job.stage not in ("in_line", "in_hand", "test")


def check_nothing_goes_unpaid() -> None:
    """A boat that went home was billed for what was agreed ("leave it" too), line by line, and paid."""
    for work_order in WorkOrder.objects.filter(stage="gone"):
        chosen = ApprovedChoice.objects.filter(choice__job__work_order=work_order)
        agreed = QuoteLine.objects.filter(option__in=chosen.values("option"), payer="customer")
        standing = work_order.invoices.filter(kind="invoice", credit_note=None).exclude(issued_at=None)
        billed = InvoiceLine.objects.filter(invoice__in=standing)
        total = sum(standing.values_list("total_minor", flat=True))
        paid = sum(
            Allocation.objects.filter(invoice__work_order=work_order).values_list("amount_minor", flat=True)
        )
        assert sorted(billed.values_list("plan_line", flat=True)) == sorted(
            agreed.values_list("pk", flat=True)
        )
        assert paid == total


def frozen_rows() -> Snapshot:
    """Every column of what may never change any more."""
    issued = Invoice.objects.exclude(issued_at=None)
    sent = QuoteRevision.objects.exclude(state="draft")
    found: Snapshot = {}
    for rows in (
        issued,
        InvoiceLine.objects.filter(invoice__in=issued),
        InvoiceTax.objects.filter(invoice__in=issued),
        Payment.objects.all(),
        Allocation.objects.all(),
        Refund.objects.all(),
        Approval.objects.all(),
        ApprovedChoice.objects.all(),
        QuoteChoice.objects.filter(revision__in=sent),
        QuoteOption.objects.filter(choice__revision__in=sent),
        QuoteLine.objects.filter(option__choice__revision__in=sent),
    ):
        found |= {(rows.model.__name__, values["id"]): values for values in rows.values()}
    columns = (
        "id",
        "shown",
        "shown_sha256",
        "sent_at",
        "tax_date",
        "valid_until_date",
        "revision",
        "quote_id",
    )
    return found | {("QuoteRevision", values["id"]): values for values in sent.values(*columns)}


def jobs_of(work_order_pk: int) -> list[Job]:
    """The jobs of a visit in their order."""
    return list(Job.objects.filter(work_order_id=work_order_pk).order_by("position"))


def everything(*models: type[Model]) -> list[list[dict[str, object]]]:
    """Every row of these tables, to see whether anything changed."""
    return [list(model._default_manager.order_by("pk").values()) for model in models]
