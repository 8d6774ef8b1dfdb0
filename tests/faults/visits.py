"""A whole visit of one boat as the killed processes write it: each step is one send of the real actions."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal

from shopapp.actions import actuals, invoices, job_tests, jobs, payments, quotes
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.arrivals import ArrivalInput, open_work_order
from shopapp.actions.quote_drafts import LineInput, OptionInput
from shopapp.actions.spoken_answers import SpokenInput, record_spoken
from shopapp.models import (
    AnswerHow,
    Customer,
    Invoice,
    Job,
    LineKind,
    Person,
    QuoteChoice,
    QuoteOption,
    QuoteRevision,
    TestKind,
    Unit,
    Vessel,
    Way,
)

SEALS = OptionInput(way=Way.MEND, title="New seals", days=2, warranty_months=3, warranty_covers="seals")
HOURS = LineInput(
    kind=LineKind.LABOUR,
    description="Fit the seals",
    quantity=Decimal("1.5"),
    unit=Unit.HOUR,
    unit_price=Decimal(120),
)


@dataclass(frozen=True)
class Boat:
    """The visit that is written: its mark stands in the complaint, so that every step finds it again."""

    mark: str

    @property
    def job(self) -> Job:
        return Job.objects.select_related("work_order").get(complaint=self.mark)

    @property
    def revision(self) -> QuoteRevision:
        return QuoteRevision.objects.get(quote__work_order__complaint=self.mark)

    @property
    def invoice(self) -> Invoice:
        return Invoice.objects.get(work_order__complaint=self.mark)


def desk() -> Actor:
    return Actor(scope=Scope.DESK, person=Person.objects.get(username="ilse"), at=datetime.now(UTC))


def arrive(boat: Boat) -> str:
    data = ArrivalInput(
        complaint=boat.mark,
        customer=Customer.objects.earliest("pk").pk,
        vessel=Vessel.objects.earliest("pk").pk,
        is_about_boat=True,
        test_kind=TestKind.HOSE,
    )
    return open_work_order(data, by=desk()).number


def look(boat: Boat) -> str:
    return jobs.start_diagnosis(boat.job.pk, by=desk()).stage


def quote(boat: Boat) -> str:
    by = desk()
    draft = quotes.start_quote(boat.job.work_order_id, by=by)
    option = QuoteOption.objects.get(choice__revision=draft)
    quotes.edit_option(option.pk, SEALS, version=option.version, by=by)
    quotes.add_line(option.pk, HOURS, by=by)
    return draft.quote.number


def send(boat: Boat) -> str:
    sent = quotes.send_quote(boat.revision.pk, version=boat.revision.version, by=desk())
    return str(sent.shown_sha256)


def answer(boat: Boat) -> str:
    by = desk()
    choice = QuoteChoice.objects.get(revision=boat.revision)
    data = SpokenInput(
        how=AnswerHow.PHONE,
        is_declined=False,
        chosen={choice.pk: choice.options.get().pk},
        spoken_with="Aud Nilsen",
        number="604 555 0111",
        spoken_at=by.at,
    )
    return record_spoken(boat.revision.pk, data, by=by).signed_sha256


def begin(boat: Boat) -> str:
    return jobs.start_work(boat.job.pk, by=desk()).stage


def use_part(boat: Boat) -> str:
    data = actuals.UsePartInput(quantity=Decimal(2), description="Shaft seal", unit_cost=Decimal("9.20"))
    return str(actuals.use_part(boat.job.pk, data, by=desk()).pk)


def spend_time(boat: Boat) -> str:
    worker = Person.objects.get(username="tobiah")
    return str(
        actuals.log_time(boat.job.pk, actuals.LogTimeInput(minutes=95, person=worker.pk), by=desk()).pk
    )


def finish(boat: Boat) -> str:
    by = desk()
    jobs.finish_work(boat.job.pk, by=by)
    job_tests.record_test(boat.job.pk, job_tests.RecordTestInput(has_passed=True), by=by)
    return boat.job.stage


def draw_up(boat: Boat) -> str:
    return str(invoices.draft_invoice(boat.job.work_order_id, by=desk()).total_minor)


def issue(boat: Boat) -> str:
    return str(invoices.issue_invoice(boat.invoice.pk, by=desk()).number)


def pay(boat: Boat) -> str:
    amount = Decimal(boat.invoice.total_minor) / 100
    paid = payments.PaymentInput(amount=amount, method="card")
    return str(payments.take_payment(boat.invoice.pk, paid, by=desk()).number)


STEPS: tuple[Callable[[Boat], str], ...] = (
    arrive, look, quote, send, answer, begin, use_part, spend_time, finish, draw_up, issue, pay,
)  # fmt: skip
