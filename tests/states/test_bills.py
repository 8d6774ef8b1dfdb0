"""Bills of every price kind in any order: nothing twice, a fixed price is its plan, no ceiling is exceeded.

Invariants 5 and 6 of the design's page on records, T26, T27 and T34; reckoned here in fractions of its own.
"""

from collections import Counter
from collections.abc import Callable
from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from django.db import transaction
from hypothesis import strategies as st
from hypothesis.stateful import initialize, invariant, rule

from shopapp.actions import corrections, credit_notes, invoice_drafts, invoices, payments
from shopapp.actions.activity import first_bad_link
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.corrections import PayerInput
from shopapp.actions.invoice_drafts import FeeInput, LineChange
from shopapp.actions.payments import PaymentInput
from shopapp.actions.refusals import Refused
from shopapp.calc.errors import BadInput
from shopapp.models import (
    SOURCES,
    Allocation,
    BilledSource,
    Invoice,
    InvoiceLine,
    Job,
    NumberSeries,
    Outcome,
    PartUsed,
    Payer,
    Payment,
    QuoteLine,
    Refund,
    Stage,
    TimeEntry,
)
from shopapp.queries.approvals import authorised
from tests.conftest import NOW
from tests.factories import JobFactory, PersonFactory, WorkOrderFactory, found_shop
from tests.factories.invoices import DECIDED_AT, Offered, Planned, approve
from tests.states import truths
from tests.states.oracle import whole
from tests.states.running import ShopMachine, run

ANY = st.sampled_from(range(40))
KINDS = ("fixed", "ceiling", "time")
PRICES = st.sampled_from([0, 10_000, 333_333, 1_199_950, 4_825_075])
LINES = st.lists(
    st.builds(
        Planned,
        kind=st.sampled_from(["part", "labour"]),
        quantity_milli=st.sampled_from([1, 333, 1_000, 2_500]),
        unit=st.just("h"),
        unit_price_e4=PRICES,
        discount_e4=st.sampled_from([0, 0, 1_000, 3_333]),
        payer=st.sampled_from(["customer", "customer", "shop"]),
    ),
    min_size=1,
    max_size=3,
)
OFFERS = st.lists(LINES, min_size=3, max_size=3)
TABLES = (PartUsed, TimeEntry, Invoice, InvoiceLine, BilledSource, Payment, Allocation, Refund, NumberSeries)


def coins(line: Any) -> int:
    """What a plan line comes to, half up, in fractions."""
    exact = Fraction(line.quantity_milli * line.unit_price_e4, 100_000)
    return whole(exact * (1 - Fraction(line.discount_e4, 10_000)), is_half_to_even=False)


class Bills(ShopMachine):
    """One visit with a job of each price kind, worked on and billed at random."""

    def __init__(self) -> None:
        super().__init__()
        self.at: datetime = NOW
        self.jobs: list[Job] = []
        self.frozen: dict[int, Any] = {}
        # rows that a person made cheaper by hand on some draft
        self.gifts: set[tuple[str, int]] = set()

    @initialize(offers=OFFERS)
    def visit_is_agreed(self, offers: list[list[Planned]]) -> None:
        found_shop()
        self.maren = PersonFactory.create(username="maren", name="Maren Falk", is_owner=True)
        self.tobiah = PersonFactory.create(username="tobiah", name="Tobiah Reyes", is_technician=True)
        self.visit = WorkOrderFactory.create(stage=Stage.IN_HAND)
        for place, (kind, lines) in enumerate(zip(KINDS, offers, strict=True), start=1):
            job = JobFactory.create(
                work_order=self.visit, position=place, stage=Stage.IN_HAND, price_kind=kind
            )
            approve(job, Offered(lines=lines))
            self.jobs.append(job)

    @property
    def by(self) -> Actor:
        self.at += timedelta(minutes=1)
        return Actor(scope=Scope.DESK, person=self.maren, at=self.at)

    def attempt[T](self, deed: Callable[..., T], *args: Any, **kwargs: Any) -> T | None:
        """Do it; where the rules refuse, nothing at all has changed."""
        before = truths.everything(*TABLES)
        try:
            with transaction.atomic():
                return deed(*args, by=self.by, **kwargs)
        except (Refused, BadInput):
            assert truths.everything(*TABLES) == before
            return None

    def draft(self) -> Invoice | None:
        return Invoice.objects.filter(issued_at=None).first()

    # --- the bench --------------------------------------------------------------------------------

    @rule(which=ANY, picked=ANY, price=PRICES, is_planned=st.booleans(), is_overridden=st.booleans())
    def part_is_used(
        self, which: int, picked: int, price: int, is_planned: bool, is_overridden: bool
    ) -> None:
        job = self.jobs[which % 3]
        lines = list(QuoteLine.objects.filter(option__choice__job=job).order_by("pk"))
        PartUsed.objects.create(
            job=job,
            plan_line=lines[picked % len(lines)] if is_planned else None,
            override_by=self.maren if is_overridden else None,
            override_reason="told at the dock" if is_overridden else "",
            description="Seal",
            quantity_milli=1_000,
            unit_price_e4=price,
            **self.logged(),
        )

    @rule(which=ANY, minutes=st.sampled_from([1, 20, 50, 61]), is_struck=st.booleans())
    def time_is_logged(self, which: int, minutes: int, is_struck: bool) -> None:
        struck = {"struck_at": self.at, "struck_by": self.maren, "struck_reason": "twice"}
        TimeEntry.objects.create(
            job=self.jobs[which % 3],
            person=self.tobiah,
            minutes=minutes,
            unit_price_e4=1_199_950,
            **self.logged(),
            **(struck if is_struck else {}),
        )

    def logged(self) -> dict[str, Any]:
        self.at += timedelta(minutes=1)
        assert self.at > DECIDED_AT
        return {"logged_by": self.tobiah, "happened_at": self.at, "recorded_at": self.at}

    @rule(which=ANY, lines=LINES)
    def extra_work_is_agreed(self, which: int, lines: list[Planned]) -> None:
        """A supplement, while somebody works on the job."""
        job = Job.objects.get(pk=self.jobs[which % 3].pk)
        if job.stage == Stage.IN_HAND:
            approve(job, Offered(lines=lines, is_supplement=True))

    def row(self, picked: int) -> tuple[str, int] | None:
        rows = [("part_used", pk) for pk in PartUsed.objects.order_by("pk").values_list("pk", flat=True)]
        rows += [("time_entry", pk) for pk in TimeEntry.objects.order_by("pk").values_list("pk", flat=True)]
        return rows[picked % len(rows)] if rows else None

    @rule(picked=ANY)
    def row_is_struck(self, picked: int) -> None:
        key = self.row(picked)
        if key is not None:
            self.attempt(corrections.strike_row, key, reason="logged twice")

    @rule(picked=ANY, payer=st.sampled_from(Payer))
    def somebody_else_pays_a_row(self, picked: int, payer: Payer) -> None:
        key = self.row(picked)
        if key is not None:
            self.attempt(corrections.set_payer, key, PayerInput(payer=payer, reason="our mistake"))

    @rule(picked=ANY, is_on=st.booleans())
    def owner_bills_a_row_or_not(self, picked: int, is_on: bool) -> None:
        key = self.row(picked)
        if key is not None:
            self.attempt(corrections.override_row, key, is_on=is_on, reason="told at the dock")

    @rule(which=ANY)
    def job_is_done(self, which: int) -> None:
        Job.objects.filter(pk=self.jobs[which % 3].pk).update(stage=Stage.READY, outcome=Outcome.DONE)

    # --- the desk ---------------------------------------------------------------------------------

    @rule()
    def bill_is_drafted(self) -> None:
        self.attempt(invoices.draft_invoice, self.visit.pk)

    @rule()
    def bill_is_worked_out_again(self) -> None:
        draft = self.draft()
        if draft is not None:
            self.attempt(invoices.redraft_invoice, draft.pk, version=draft.version)

    @rule(picked=ANY)
    def line_is_left_out(self, picked: int) -> None:
        draft = self.draft()
        lines = list(draft.lines.order_by("position")) if draft is not None else []
        if draft is not None and lines:
            line = lines[picked % len(lines)]
            self.attempt(invoice_drafts.leave_out, line.pk, version=draft.version)

    @rule(picked=ANY, is_goodwill=st.booleans())
    def line_is_made_cheaper(self, picked: int, is_goodwill: bool) -> None:
        draft = self.draft()
        lines = list(draft.lines.order_by("position")) if draft is not None else []
        if draft is None or not lines:
            return
        line = lines[picked % len(lines)]
        claims = self.claims(line)
        change = LineChange(description="x", discount=Decimal("0.5"), is_goodwill=is_goodwill, note="kind")
        if self.attempt(invoice_drafts.change_line, line.pk, change, version=draft.version) is not None:
            self.gifts |= claims

    @rule(price=st.sampled_from(["0.01", "40"]))
    def fee_is_added(self, price: str) -> None:
        draft = self.draft()
        if draft is not None:
            fee = FeeInput(description="Lift", quantity=Decimal(1), unit_price=Decimal(price))
            self.attempt(invoice_drafts.add_fee, draft.pk, fee, version=draft.version)

    @rule()
    def bill_is_issued(self) -> None:
        draft = self.draft()
        if draft is not None:
            self.attempt(invoices.issue_invoice, draft.pk)

    @rule(which=ANY)
    def bill_is_credited(self, which: int) -> None:
        issued = list(Invoice.objects.filter(issued_at__isnull=False).order_by("pk"))
        if issued:
            self.attempt(credit_notes.credit_invoice, issued[which % len(issued)].pk, "wrong")

    @rule(amount=st.sampled_from(["0.01", "25", "900"]), is_deposit=st.booleans(), which=ANY)
    def money_comes_in(self, amount: str, is_deposit: bool, which: int) -> None:
        data = PaymentInput(amount=Decimal(amount), method="card")
        issued = list(Invoice.objects.filter(issued_at__isnull=False).order_by("pk"))
        if is_deposit:
            self.attempt(payments.take_deposit, self.visit.pk, data)
        elif issued:
            self.attempt(payments.take_payment, issued[which % len(issued)].pk, data)

    @rule(amount=st.sampled_from(["0.01", "25", "900"]), which=ANY)
    def money_goes_back(self, amount: str, which: int) -> None:
        taken = list(Payment.objects.order_by("pk"))
        if taken:
            data = PaymentInput(amount=Decimal(amount), method="cash")
            self.attempt(payments.give_refund, taken[which % len(taken)].pk, data)

    # --- what is always true ----------------------------------------------------------------------

    def claims(self, line: InvoiceLine) -> set[tuple[str, int]]:
        keys = [f"{name}_id" for name in SOURCES]
        return {
            (name, row[f"{name}_id"])
            for row in BilledSource.objects.filter(line=line).values(*keys)
            for name in SOURCES
            if row[f"{name}_id"] is not None
        }

    def standing(self) -> list[InvoiceLine]:
        """Lines of issued invoices that no credit note takes back."""
        rows = InvoiceLine.objects.filter(invoice__kind="invoice", invoice__issued_at__isnull=False)
        return list(rows.filter(invoice__credit_note=None).select_related("invoice"))

    @invariant()
    def nothing_is_billed_twice(self) -> None:
        counted = Counter(source for line in self.standing() for source in self.claims(line))
        assert [source for source, count in counted.items() if count > 1] == []
        for name, key in counted:
            if name in ("part_used", "time_entry"):
                model = PartUsed if name == "part_used" else TimeEntry
                row = model.objects.get(pk=key)
                assert (row.struck_at, row.payer) == (None, "customer")

    @invariant()
    def fixed_price_is_its_plan(self) -> None:
        if not self.jobs:
            return
        for line in self.standing():
            if line.job_id == self.jobs[0].pk and line.origin == "plan":
                plan = QuoteLine.objects.get(pk=line.plan_line_id)
                assert plan.payer == "customer"
                if ("plan_line", plan.pk) not in self.gifts:
                    assert line.amount_minor == coins(plan)
                assert line.amount_minor <= coins(plan)

    @invariant()
    def no_ceiling_is_exceeded(self) -> None:
        if not self.jobs:
            return
        mine = [line for line in self.standing() if line.job_id == self.jobs[1].pk]
        billed = sum(line.amount_minor for line in mine if not self.is_by_owner(line))
        assert billed <= self.agreed(self.jobs[1])

    def is_by_owner(self, line: InvoiceLine) -> bool:
        return any(
            model.objects.filter(pk=key, override_by__isnull=False).exists()
            for name, key in self.claims(line)
            for model in (PartUsed, TimeEntry)
            if name == ("part_used" if model is PartUsed else "time_entry")
        )

    def agreed(self, job: Job) -> int:
        lines = QuoteLine.objects.filter(option__choice__job=job, payer="customer")
        return sum(coins(line) for line in lines)

    @invariant()
    def nobody_pays_more_than_was_agreed(self) -> None:
        """T34: without tax, over the whole visit; what the owner takes on themselves counts apart."""
        billed = sum(line.amount_minor for line in self.standing() if not self.is_by_owner(line))
        agreed = sum(self.agreed(job) for job in self.jobs)
        assert billed <= agreed
        assert not self.jobs or authorised(self.visit).total_minor == agreed

    @invariant()
    def money_adds_up(self) -> None:
        """T26, T27: no payment pays more than it is, no bill is paid beyond its total or once credited."""
        for payment in Payment.objects.prefetch_related("allocations", "refunds"):
            used = sum(row.amount_minor for row in payment.allocations.all())
            back = sum(row.amount_minor for row in payment.refunds.all())
            assert 0 <= used + back <= payment.amount_minor
        for invoice in Invoice.objects.filter(kind="invoice", issued_at__isnull=False):
            paid = sum(invoice.allocations.values_list("amount_minor", flat=True))
            credited = Invoice.objects.filter(credits=invoice).first()
            assert paid == 0 if credited is not None else 0 <= paid <= invoice.total_minor
            if credited is not None:
                assert credited.total_minor == invoice.total_minor
                assert credited.tax_minor == invoice.tax_minor

    @invariant()
    def issued_never_changes(self) -> None:
        now: dict[int, Any] = {
            row["id"]: row for row in Invoice.objects.filter(issued_at__isnull=False).values()
        }
        assert {key: now.get(key) for key in self.frozen} == self.frozen
        self.frozen = now

    def end(self) -> None:
        for series, prefix in (("invoice", "INV"), ("credit_note", "CN")):
            numbers = sorted(
                Invoice.objects.filter(kind=series, issued_at__isnull=False).values_list("number", flat=True)
            )
            assert numbers == [f"{prefix}-{place:05d}" for place in range(1, len(numbers) + 1)]
        assert first_bad_link() is None


@pytest.mark.django_db
def test_bills_hold_in_any_order_t26_t27_t34() -> None:
    run(Bills, runs=4, steps=25)
