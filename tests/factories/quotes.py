"""Quotes in every state: begun, sent and answered by the actions that people use, filled in by rows."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal

from shopapp.actions import approvals, links, quotes
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.approvals import DecisionInput
from shopapp.actions.quote_drafts import (
    LineInput,
    OptionInput,
    line_values,
    option_values,
    with_known_cost,
)
from shopapp.actions.quote_jobs import new_option
from shopapp.actions.quote_terms import follow_minimum_charge
from shopapp.models import (
    Approval,
    CustomerLink,
    Job,
    LineKind,
    Person,
    Quote,
    QuoteChoice,
    QuoteLine,
    QuoteOption,
    QuoteRevision,
    Unit,
    Way,
    WorkOrder,
)
from tests.factories.work_orders import JobFactory

SHAFT = OptionInput(
    way=Way.NEW,
    title="New shaft and seals",
    explanation="The groove goes, the seals sit on new metal.",
    left_out="The propeller, which is nicked.",
    days=5,
    warranty_months=12,
    warranty_covers="shaft and labour",
)
SEALS = OptionInput(way=Way.MEND, title="New seals on the old shaft", days=2, warranty_months=3)
LABOUR = LineInput(
    kind=LineKind.LABOUR,
    description="Take apart, fit seals, put together",
    quantity=Decimal("2.5"),
    unit=Unit.HOUR,
    unit_price=Decimal(120),
)
SEAL = LineInput(
    kind=LineKind.PART,
    description="Propeller shaft seal",
    quantity=Decimal(2),
    unit=Unit.EACH,
    unit_price=Decimal("18.40"),
    number="SR-1188",
)
OIL = LineInput(
    kind=LineKind.FLUID,
    description="Gear oil",
    quantity=Decimal("0.75"),
    unit=Unit.LITRE,
    unit_price=Decimal("24.00"),
)


def desk(person: Person, *, at: datetime) -> Actor:
    """A person at the desk at a moment."""
    return Actor(scope=Scope.DESK, person=person, at=at)


def behind(link: CustomerLink, *, at: datetime) -> Actor:
    """A customer behind a link at a moment."""
    return Actor(scope=Scope.LINK, link=link, at=at)


def draft_quote(person: Person, *, at: datetime, work_order: WorkOrder | None = None) -> QuoteRevision:
    """A draft for one job with two options: seals (labour, seals, oil) and a shaft (labour).

    Thousands of tests begin here, so what is in it is written as rows; the actions have tests of their own.
    """
    visit = work_order or JobFactory().work_order
    by = desk(person, at=at)
    revision = quotes.start_quote(visit.pk, by=by)
    for choice in revision.choices.all():
        choice.options.update(**option_values(SEALS), version=2)
        _write_lines(choice.options.get(), (LABOUR, SEAL, OIL), by=by)
        second = new_option(choice, SHAFT)
        _write_lines(second, (replace(LABOUR, quantity=Decimal(6)),), by=by)
    return revision


def _write_lines(option: QuoteOption, lines: Sequence[LineInput], *, by: Actor) -> None:
    QuoteLine.objects.bulk_create(
        QuoteLine(option=option, position=place, **with_known_cost(line_values(line, by=by)))
        for place, line in enumerate(lines, start=1)
    )
    follow_minimum_charge(option, by=by)


def sent_quote(person: Person, *, at: datetime, work_order: WorkOrder | None = None) -> QuoteRevision:
    """The draft, sent."""
    draft = draft_quote(person, at=at, work_order=work_order)
    return quotes.send_quote(draft.pk, version=1, by=desk(person, at=at))


def opened_link(revision: QuoteRevision, person: Person, *, at: datetime) -> tuple[CustomerLink, str]:
    """A counter link to a sent revision, and its token."""
    return links.open_counter(revision.pk, by=desk(person, at=at))


def first_options(revision: QuoteRevision) -> dict[int, int | None]:
    """The first option of each choice."""
    options = QuoteOption.objects.filter(choice__revision=revision, position=1)
    return {option.choice_id: option.pk for option in options}


def answered(
    revision: QuoteRevision, person: Person, *, at: datetime, chosen: dict[int, int | None] | None = None
) -> Approval:
    """An answer at the counter, a minute after it was handed over; the first options unless told."""
    link, _ = opened_link(revision, person, at=at)
    data = DecisionInput(
        is_declined=False, chosen=chosen or first_options(revision), signed_name="Aud Nilsen"
    )
    return approvals.decide(revision.pk, data, by=behind(link, at=at + timedelta(minutes=1)))


def add_lines(option: QuoteOption, lines: Sequence[LineInput], *, by: Actor) -> None:
    """More lines to an option."""
    for line in lines:
        quotes.add_line(option.pk, line, by=by)


def sent_supplement(job: Job, person: Person, *, at: datetime) -> QuoteRevision:
    """Extra work on a job that is agreed already, sent: two seals for 36.80 without tax."""
    by = desk(person, at=at)
    quote = Quote.objects.create(work_order=job.work_order, number=f"S-{job.pk:05d}", is_supplement=True)
    draft = QuoteRevision.objects.create(quote=quote, revision=1, created_at=at)
    choice = QuoteChoice.objects.create(revision=draft, job=job)
    option = quotes.add_option(choice.pk, SEALS, by=by)
    quotes.add_line(option.pk, SEAL, by=by)
    return quotes.send_quote(draft.pk, version=1, by=by)
