"""The whole path through the real actions in any order, under attack: the books hold, every boat gets home.

Invariants of the design's page on records: 1 (sums), 2 (issued never changes, numbers), 4 (approved = shown),
8 (two editors).
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction
from hypothesis import strategies as st
from hypothesis.stateful import initialize, invariant, rule

from shopapp import models as rows
from shopapp.actions import (
    approvals,
    arrivals,
    credit_notes,
    invoices,
    job_tests,
    jobs,
    links,
    payments,
    quotes,
    work_orders,
)
from shopapp.actions.activity import first_bad_link
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.approvals import DecisionInput
from shopapp.actions.arrivals import ArrivalInput
from shopapp.actions.customers import CustomerInput, edit_customer
from shopapp.actions.jobs import FindingsInput
from shopapp.actions.payments import PaymentInput
from shopapp.actions.quote_drafts import LineInput, OptionInput
from shopapp.actions.refusals import Refused, Stale
from shopapp.actions.vessels import VesselInput
from shopapp.calc.errors import BadInput
from shopapp.models import (
    Activity,
    Approval,
    Invoice,
    InvoiceLine,
    Job,
    LineKind,
    NumberSeries,
    Payer,
    Payment,
    QuoteChoice,
    QuoteLine,
    QuoteOption,
    QuoteRevision,
    ToldHow,
    Unit,
    Way,
    WorkOrder,
)
from shopapp.queries.invoices import balance_minor, owed_minor
from tests.conftest import NOW
from tests.factories import PersonFactory, found_shop
from tests.states import truths
from tests.states.oracle import Habits
from tests.states.running import ShopMachine, run

ANY = st.sampled_from(range(60))
TABLES = (WorkOrder, Job, QuoteRevision, QuoteOption, QuoteLine, Invoice, InvoiceLine, Payment, NumberSeries)
LINES = st.builds(
    LineInput,
    kind=st.sampled_from(LineKind),
    description=st.sampled_from(["Seal", "Gear oil", "Fit the seals"]),
    quantity=st.decimals(min_value="0.001", max_value="40", places=3),
    unit=st.sampled_from(Unit),
    unit_price=st.decimals(min_value=0, max_value=900, places=4),
    discount=st.sampled_from([Decimal(0), Decimal("0.1"), Decimal("0.3333"), Decimal(1)]),
    payer=st.sampled_from([Payer.CUSTOMER, Payer.CUSTOMER, Payer.CUSTOMER, Payer.SHOP, Payer.MAKER]),
)
SURE_LINE = LineInput(
    kind=LineKind.PART,
    description="Impeller",
    quantity=Decimal(1),
    unit=Unit.EACH,
    unit_price=Decimal("48.25"),
)
# picked from a list rather than drawn as numbers: hypothesis loves small numbers
PICKS = st.lists(st.sampled_from(range(60)), min_size=3, max_size=3)
AHEAD = st.lists(st.tuples(st.sampled_from(range(15)), PICKS, LINES), min_size=2, max_size=2)
ATTACKS = (
    "UPDATE shopapp_invoice SET total_minor = total_minor + 1 WHERE issued_at IS NOT NULL",
    "DELETE FROM shopapp_invoiceline WHERE invoice_id IN"
    " (SELECT id FROM shopapp_invoice WHERE issued_at IS NOT NULL)",
    "UPDATE shopapp_payment SET amount_minor = 1",
    "UPDATE shopapp_approval SET with_tax_minor = 0",
    "UPDATE shopapp_approvedchoice SET option_id = NULL",
    "UPDATE shopapp_quoteline SET unit_price_e4 = 1 WHERE option_id IN"
    " (SELECT o.id FROM shopapp_quoteoption o JOIN shopapp_quotechoice c ON c.id = o.choice_id"
    " JOIN shopapp_quoterevision r ON r.id = c.revision_id WHERE r.state <> 'draft')",
    "UPDATE shopapp_quoterevision SET shown = '{}' WHERE state <> 'draft'",
    "UPDATE shopapp_quoterevision SET state = 'sent' WHERE state IN ('decided', 'replaced')",
    "DELETE FROM shopapp_activity",
)


class Visits(ShopMachine):
    """A shop with a few boats at once, worked on by the desk, a technician and customers."""

    def __init__(self) -> None:
        super().__init__()
        self.at: datetime = NOW
        self.visits: list[int] = []
        self.frozen: truths.Snapshot = {}
        self.looked_at = -1

    @initialize(is_even=st.booleans(), is_by_line=st.booleans(), is_exempt=st.booleans(), ahead=AHEAD)
    def shop_is_founded(
        self, is_even: bool, is_by_line: bool, is_exempt: bool, ahead: list[tuple[int, list[int], LineInput]]
    ) -> None:
        """Two boats are here already, each some steps along its way."""
        found_shop(
            rounding="half_even" if is_even else "half_up", tax_level="line" if is_by_line else "breakdown"
        )
        self.habits = Habits(is_half_to_even=is_even, is_taxed_by_line=is_by_line)
        self.ilse = PersonFactory.create(username="ilse", name="Ilse Brandt")
        self.boat_arrives(is_exempt=False, test="tank")
        self.boat_arrives(is_exempt=is_exempt, test="none")
        for which, (steps, picks, line) in enumerate(ahead):
            self.visit_goes_on(which=which, steps=steps, picks=picks, line=line)

    @property
    def by(self) -> Actor:
        """Ilse, a minute after whatever was before."""
        self.at += timedelta(minutes=1)
        return Actor(scope=Scope.DESK, person=self.ilse, at=self.at)

    def attempt[T](self, deed: Callable[..., T], *args: Any, **kwargs: Any) -> T | None:
        """Do it; where the rules refuse, nothing at all has changed."""
        before, entries = truths.everything(*TABLES), Activity.objects.count()
        try:
            with transaction.atomic():
                return deed(*args, by=self.by, **kwargs)
        except (Refused, BadInput):
            assert truths.everything(*TABLES) == before
            assert Activity.objects.count() == entries
            return None

    def visit(self, which: int) -> int:
        return self.visits[which % len(self.visits)]

    def job(self, which: int) -> Job:
        return truths.jobs_of(self.visit(which))[0]

    def revisions(self, which: int) -> list[QuoteRevision]:
        return list(QuoteRevision.objects.filter(quote__work_order=self.visit(which)).order_by("pk"))

    # --- what usually comes next ------------------------------------------------------------------

    @rule(which=ANY, steps=st.integers(min_value=1, max_value=4), picks=PICKS, line=LINES)
    def visit_goes_on(self, which: int, steps: int, picks: list[int], line: LineInput) -> None:
        for step in range(steps):
            work_order = WorkOrder.objects.get(pk=self.visit(which))
            if work_order.stage != "gone":
                self.tempt(work_order, picks[step % len(picks)])
                self.next_step(WorkOrder.objects.get(pk=work_order.pk), picks, line)
                self.books_hold()

    def tempt(self, work_order: WorkOrder, which: int) -> None:
        """Try what is not due: another step of the bench, more money than is owed, home before it is paid."""
        job, place = truths.jobs_of(work_order.pk)[0], self.visits.index(work_order.pk)
        ready: list[Callable[[], object]] = [
            lambda: self.money_comes_in(which=place, share=101),
            lambda: self.money_comes_in(which=place, share=33),
            lambda: (self.customer_is_told(which=place), self.boat_goes_home(which=place)),
            lambda: (self.invoice_is_issued(which=place), self.invoice_is_drafted(which=place)),
        ]
        sooner: list[Callable[[], object]] = [
            lambda: self.bench_moves_the_job(which=place, deed=jobs.start_work),
            lambda: self.bench_moves_the_job(which=place, deed=jobs.finish_work),
            lambda: self.cause_is_rewritten(which=place, cause=f"worn seal {which}"),
            lambda: self.invoice_is_drafted(which=place),
            lambda: self.customer_is_renamed(which=place, name=f"Pia {which}"),
        ]
        deeds = ready if job.stage == "ready" else sooner
        deeds[which % len(deeds)]()

    def next_step(self, work_order: WorkOrder, picks: list[int], line: LineInput) -> None:
        """The step that is due; ``picks`` say what is chosen, ``line`` what is offered."""
        if work_order.stage == "gone":
            return
        job = truths.jobs_of(work_order.pk)[0]
        steps: dict[str, Callable[[], object]] = {
            "in_line": lambda: jobs.start_work(job.pk, by=self.by),
            "in_hand": lambda: jobs.finish_work(job.pk, by=self.by),
            "test": lambda: job_tests.record_test(
                job.pk, job_tests.RecordTestInput(has_passed=True), by=self.by
            ),
            "ready": lambda: self.settle(work_order),
        }
        # a temptation may have been the step that was due
        steps.get(job.stage, lambda: self.agree(work_order, picks, line))()

    def agree(self, work_order: WorkOrder, picks: list[int], line: LineInput) -> None:
        """A quote is begun, given a line in each option, sent, answered; one of these at a time."""
        revision = QuoteRevision.objects.filter(quote__work_order=work_order).order_by("pk").last()
        if revision is None:
            quotes.start_quote(work_order.pk, by=self.by)
        elif revision.state == "sent":
            opened = self.attempt(links.open_counter, revision.pk)
            if opened is None or not self.answer(revision, picks, is_declined=False, opened=opened):
                # a finding was written since: what was shown is no longer what the rows say
                quotes.revise_quote(revision.pk, by=self.by)
        elif not self.attempt(quotes.send_quote, revision.pk, version=revision.version):
            self.complete(revision, picks, line)

    def complete(self, revision: QuoteRevision, picks: list[int], line: LineInput) -> None:
        """What a draft lacks before it may be sent: another option, a sure line, and any line."""
        for choice in QuoteChoice.objects.filter(revision=revision):
            way = list(Way)[picks[1] % len(Way)]
            self.attempt(quotes.add_option, choice.pk, OptionInput(way=way, title=str(way.label)))
        for option in QuoteOption.objects.filter(choice__revision=revision):
            quotes.add_line(option.pk, SURE_LINE, by=self.by)
            self.attempt(quotes.add_line, option.pk, line)

    def settle(self, work_order: WorkOrder) -> None:
        """Bill what there is to bill, take the money, tell, hand back; one of these at a time."""
        pk, owed = work_order.pk, owed_minor(work_order)
        draft = Invoice.objects.filter(work_order=pk, issued_at=None).first()
        if draft is not None:
            invoices.issue_invoice(draft.pk, by=self.by)
        elif owed:
            standing = Invoice.objects.filter(kind="invoice", credit_note=None).exclude(issued_at=None)
            unpaid = next(one for one in standing.filter(work_order=pk) if balance_minor(one))
            payments.take_payment(
                unpaid.pk,
                PaymentInput(amount=Decimal(balance_minor(unpaid)) / 100, method="cash"),
                by=self.by,
            )
        elif not self.attempt(invoices.draft_invoice, pk):
            work_orders.tell_customer(pk, work_orders.TellInput(how=ToldHow.PHONE), by=self.by)
            work_orders.hand_back(pk, work_orders.HandBackInput(gone_to="Pia"), by=self.by)

    # --- the desk ---------------------------------------------------------------------------------

    def boat_arrives(self, is_exempt: bool, test: str) -> None:
        number = len(self.visits)
        reason = "On reserve" if is_exempt else ""
        customer = CustomerInput(
            name=f"Customer {number}",
            phone=f"604 555 01{number:02d}",
            is_tax_exempt=is_exempt,
            exemption_reason=reason,
        )
        arrival = ArrivalInput(
            complaint="Overheats",
            customer=customer,
            vessel=VesselInput(kept_on="trailer"),
            is_about_boat=True,
            is_somebody_new=True,
            test_kind=test,
        )
        self.visits.append(arrivals.open_work_order(arrival, by=self.by).pk)

    @rule(which=ANY)
    def quote_is_started(self, which: int) -> None:
        self.attempt(quotes.start_quote, self.visit(which))

    @rule(which=ANY, way=st.sampled_from(Way))
    def option_is_added(self, which: int, way: Way) -> None:
        for choice in QuoteChoice.objects.filter(revision__in=self.revisions(which)[-1:]):
            self.attempt(quotes.add_option, choice.pk, OptionInput(way=way, title=f"{way.label}"))

    @rule(which=ANY, option=ANY, line=LINES)
    def line_is_added(self, which: int, option: int, line: LineInput) -> None:
        options = QuoteOption.objects.filter(choice__revision__in=self.revisions(which)).order_by("pk")
        if options:
            self.attempt(quotes.add_line, options[option % len(options)].pk, line)

    @rule(which=ANY, picked=ANY, line=LINES, behind=st.integers(min_value=0, max_value=1))
    def line_is_edited(self, which: int, picked: int, line: LineInput, behind: int) -> None:
        lines = QuoteLine.objects.filter(option__choice__revision__in=self.revisions(which)).order_by("pk")
        if not lines:
            return
        row = lines[picked % len(lines)]

        saved = self.attempt(quotes.edit_line, row.pk, line, version=row.version - behind)

        assert saved is None or (behind == 0 and saved.version == row.version + 1)

    @rule(which=ANY, picked=ANY)
    def line_is_removed(self, which: int, picked: int) -> None:
        lines = QuoteLine.objects.filter(option__choice__revision__in=self.revisions(which)).order_by("pk")
        if lines:
            row = lines[picked % len(lines)]
            self.attempt(quotes.remove_line, row.pk, version=row.version)

    @rule(which=ANY, revision=ANY)
    def quote_is_sent(self, which: int, revision: int) -> None:
        found = self.revisions(which)
        if found:
            one = found[revision % len(found)]
            self.attempt(quotes.send_quote, one.pk, version=one.version)

    @rule(which=ANY, revision=ANY)
    def quote_is_revised(self, which: int, revision: int) -> None:
        found = self.revisions(which)
        if found:
            self.attempt(quotes.revise_quote, found[revision % len(found)].pk)

    @rule(which=ANY, texts=st.lists(st.sampled_from(["seal", "shaft", "bearing"]), min_size=2, max_size=2))
    def two_people_write_findings(self, which: int, texts: list[str]) -> None:
        """Both opened the form at the same version: the second is told, and gets the first one's words."""
        job = self.job(which)
        first, second = (
            FindingsInput(
                complaint=job.complaint,
                cause=job.cause,
                correction=text,
                test_kind=rows.TestKind(job.test_kind),
            )
            for text in texts
        )
        saved = self.attempt(jobs.edit_findings, job.pk, first, version=job.version)
        if saved is None:
            return

        with pytest.raises(Stale) as caught, transaction.atomic():
            jobs.edit_findings(job.pk, second, version=job.version, by=self.by)

        assert (caught.value.record.correction, caught.value.record.version) == (texts[0], job.version + 1)

    @rule(which=ANY, cause=st.sampled_from(["worn seal", "bent shaft"]))
    def cause_is_rewritten(self, which: int, cause: str) -> None:
        job = self.job(which)
        found = FindingsInput(
            complaint=job.complaint,
            cause=cause,
            correction=job.correction,
            test_kind=rows.TestKind(job.test_kind),
        )
        self.attempt(jobs.edit_findings, job.pk, found, version=job.version)

    @rule(which=ANY, name=st.sampled_from(["Pia Berg", "Pia Lindqvist"]))
    def customer_is_renamed(self, which: int, name: str) -> None:
        row = WorkOrder.objects.get(pk=self.visit(which)).customer
        renamed = CustomerInput(
            name=name,
            phone=row.phone,
            is_tax_exempt=row.is_tax_exempt,
            exemption_reason=row.exemption_reason,
        )
        self.attempt(lambda by: edit_customer(row.pk, renamed, version=row.version, by=by))

    # --- the customer -----------------------------------------------------------------------------

    @rule(which=ANY, revision=ANY, picks=PICKS, is_declined=st.booleans())
    def customer_answers(self, which: int, revision: int, picks: list[int], is_declined: bool) -> None:
        found = self.revisions(which)
        if not found:
            return
        one = found[revision % len(found)]
        opened = self.attempt(links.open_counter, one.pk)
        if opened is not None:
            self.answer(one, picks, is_declined=is_declined, opened=opened)

    def answer(
        self, revision: QuoteRevision, picks: list[int], *, is_declined: bool, opened: tuple[Any, str]
    ) -> Approval | None:
        chosen: dict[int, int | None] = {}
        for place, choice in enumerate(QuoteChoice.objects.filter(revision=revision).order_by("pk")):
            options: list[int | None] = [None, *choice.options.order_by("pk").values_list("pk", flat=True)]
            chosen[choice.pk] = options[picks[place % len(picks)] % len(options)]
        data = DecisionInput(is_declined=is_declined, chosen=chosen, signed_name="Pia Lindqvist")
        customer = Actor(scope=Scope.LINK, link=opened[0], at=self.at + timedelta(seconds=30))
        approval = self.attempt(
            lambda by: approvals.decide(revision.pk, data, by=replace(customer, at=by.at))
        )
        if approval is not None:
            truths.check_nothing_changed_since_it_was_shown(approval)
        return approval

    # --- the bench --------------------------------------------------------------------------------

    @rule(which=ANY, deed=st.sampled_from([jobs.start_diagnosis, jobs.start_work, jobs.finish_work]))
    def bench_moves_the_job(self, which: int, deed: Callable[..., Job]) -> None:
        self.attempt(deed, self.job(which).pk)

    @rule(which=ANY, has_passed=st.booleans(), remarks=st.sampled_from(["", "still leaks"]))
    def job_is_tested(self, which: int, has_passed: bool, remarks: str) -> None:
        data = job_tests.RecordTestInput(has_passed=has_passed, remarks=remarks)
        self.attempt(job_tests.record_test, self.job(which).pk, data)

    # --- the bill ---------------------------------------------------------------------------------

    @rule(which=ANY)
    def invoice_is_drafted(self, which: int) -> None:
        self.attempt(invoices.draft_invoice, self.visit(which))

    @rule(which=ANY)
    def invoice_is_issued(self, which: int) -> None:
        for invoice in Invoice.objects.filter(work_order=self.visit(which)):
            self.attempt(invoices.issue_invoice, invoice.pk)

    @rule(which=ANY, share=st.sampled_from([0, 1, 33, 50, 100, 101]))
    def money_comes_in(self, which: int, share: int) -> None:
        """T27: never more than is owed."""
        for invoice in Invoice.objects.filter(work_order=self.visit(which)):
            owed = owed_minor(invoice.work_order) or 0
            coins = owed * share // 100 + (share > 100)
            data = PaymentInput(amount=Decimal(coins) / 100, method="card")

            payment = self.attempt(payments.take_payment, invoice.pk, data)

            assert payment is None or 0 < payment.amount_minor <= owed

    @rule(which=ANY, amount=st.sampled_from(["1", "500"]))
    def deposit_is_taken(self, which: int, amount: str) -> None:
        data = PaymentInput(amount=Decimal(amount), method="card")
        self.attempt(payments.take_deposit, self.visit(which), data)

    @rule(which=ANY)
    def invoice_is_credited(self, which: int) -> None:
        """T26: what it billed may be billed again, and the boat still gets home."""
        for invoice in Invoice.objects.filter(work_order=self.visit(which), kind="invoice").exclude(
            work_order__stage="gone"
        ):
            self.attempt(credit_notes.credit_invoice, invoice.pk, "wrong name")

    @rule(which=ANY)
    def customer_is_told(self, which: int) -> None:
        self.attempt(work_orders.tell_customer, self.visit(which), work_orders.TellInput(how=ToldHow.PHONE))

    @rule(which=ANY)
    def boat_goes_home(self, which: int) -> None:
        pk = self.visit(which)

        gone = self.attempt(work_orders.hand_back, pk, work_orders.HandBackInput(gone_to="Pia"))

        assert gone is None or not owed_minor(gone)

    # --- hands that reach around the app ----------------------------------------------------------

    @rule(attack=st.sampled_from(ATTACKS))
    def somebody_attacks_the_database(self, attack: str) -> None:
        before = truths.frozen_rows()

        try:
            with transaction.atomic(), connection.cursor() as cursor:
                cursor.execute(attack)
        except DatabaseError:
            pass

        assert truths.frozen_rows() == before

    # --- what is always true ----------------------------------------------------------------------

    @invariant()
    def books_hold(self) -> None:
        """Looked at only after something was written: each deed leaves an entry."""
        entries = Activity.objects.count()
        if entries == self.looked_at or not self.visits:
            return
        self.looked_at = entries
        now = truths.frozen_rows()
        assert {key: now.get(key) for key in self.frozen} == self.frozen
        self.frozen = now
        truths.check_numbers()
        truths.check_stages()
        truths.check_invoices(self.habits)
        truths.check_approvals(self.habits)
        truths.check_shown_lines()
        truths.check_nothing_goes_unpaid()

    def end(self) -> None:
        for pk in self.visits:
            self.take_home(pk)
        self.books_hold()
        assert first_bad_link() is None

    def take_home(self, pk: int) -> None:
        """Whatever was done before, the steps that are due lead every boat home."""
        for _ in range(25):
            work_order = WorkOrder.objects.get(pk=pk)
            if work_order.stage == "gone":
                return
            self.next_step(work_order, [1, 1, 1], SURE_LINE)
        raise AssertionError(f"{work_order} is stuck at {work_order.stage}")


@pytest.mark.django_db
def test_visits_keep_their_promises_in_any_order_t26_t27_t35() -> None:
    run(Visits, runs=3, steps=25)
