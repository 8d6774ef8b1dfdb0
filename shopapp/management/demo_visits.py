"""Plays the visits of the demo shop through the real actions, each up to the stage it is to show."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from shopapp.actions import actuals, invoices, job_tests, jobs, links, payments, quotes, work_orders
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.approvals import DecisionInput, decide
from shopapp.actions.arrivals import ArrivalInput, ArrivingEngine, open_work_order
from shopapp.actions.customers import CustomerInput
from shopapp.actions.engines import EngineInput, HoursInput
from shopapp.actions.quote_drafts import LineInput, OptionInput
from shopapp.actions.vessels import VesselInput
from shopapp.calc.money import from_minor
from shopapp.models import (
    HoursSource,
    Invoice,
    Job,
    LineKind,
    Person,
    QuoteLine,
    QuoteOption,
    QuoteRevision,
    SerialState,
    TestKind,
    ToldHow,
    Unit,
    Way,
    WorkOrder,
)
from shopapp.queries.shop import the_shop

Facts = Mapping[str, Any]
STEP = timedelta(minutes=20)
OPENING, CLOSING = time(8, 30), time(17, 0)
PATH = ("here", "diagnosis", "with_customer", "in_line", "in_hand", "test", "ready", "gone")


@dataclass(frozen=True, kw_only=True)
class Crew:
    """Who plays the visits."""

    desk: Person
    owner: Person
    technicians: Mapping[str, Person]


class Visit:
    """One visit on its way; its steps follow one another in the shop's opening hours."""

    def __init__(self, facts: Facts, *, crew: Crew, now: datetime) -> None:
        self.facts, self.crew = facts, crew
        self.at = _first_moment(now, days_ago=facts["days_ago"])
        self.work_order: WorkOrder
        self.job: Job
        self.revision: QuoteRevision

    def by(self, person: Person) -> Actor:
        """The person, some minutes after the step before; after closing time, on the next morning."""
        self.at += STEP
        local = self.at.astimezone(ZoneInfo(the_shop().time_zone))
        if local.time() > CLOSING:
            self.at = (local + timedelta(days=1)).replace(hour=OPENING.hour, minute=OPENING.minute)
        return Actor(scope=Scope.DESK, person=person, at=self.at)

    @property
    def technician(self) -> Person:
        """Who works on the job; the first technician where nobody is named."""
        named = self.facts["technician"]
        return self.crew.technicians[named] if named else next(iter(self.crew.technicians.values()))


def _first_moment(now: datetime, *, days_ago: int) -> datetime:
    """The shop's opening on that day; an hour ago for today, since the story must not run ahead."""
    if days_ago == 0:
        return now - timedelta(hours=1)
    day = now.astimezone(ZoneInfo(the_shop().time_zone)) - timedelta(days=days_ago)
    return day.replace(hour=OPENING.hour, minute=OPENING.minute)


def play(facts: Facts, *, crew: Crew, now: datetime) -> WorkOrder:
    """Play a visit up to its stage; every row comes from the action that a person would have used."""
    visit = Visit(facts, crew=crew, now=now)
    _arrive(visit)
    last = PATH.index(facts["until"])
    for step in STEPS[:last]:
        step(visit)
    return visit.work_order


def _arrive(visit: Visit) -> None:
    facts = visit.facts
    engine = facts["engine"]
    visit.work_order = open_work_order(
        ArrivalInput(
            complaint=facts["complaint"],
            customer=CustomerInput(**facts["customer"]),
            vessel=VesselInput(**facts["boat"]),
            engines=(_arriving(engine),),
            test_kind=TestKind.WATER,
            technicians=(visit.technician.pk,) if facts["technician"] else (),
        ),
        by=visit.by(visit.crew.desk),
    )
    visit.job = Job.objects.get(work_order=visit.work_order)


def _arriving(engine: Facts) -> ArrivingEngine:
    serial, hours = engine["serial"], engine["hours"]
    return ArrivingEngine(
        engine=EngineInput(
            make=engine["make"],
            model=engine["model"],
            serial=serial,
            serial_state=SerialState.READ if serial else SerialState.NOT_LOOKED,
        ),
        hours=HoursInput(tenths=int(Decimal(hours) * 10), source=HoursSource.METER) if hours else None,
    )


def _diagnose(visit: Visit) -> None:
    jobs.start_diagnosis(visit.job.pk, by=visit.by(visit.technician))
    if "cause" not in visit.facts:
        return
    found = jobs.FindingsInput(
        complaint=visit.facts["complaint"],
        cause=visit.facts["cause"],
        correction=visit.facts["correction"],
        test_kind=TestKind.WATER,
    )
    version = Job.objects.get(pk=visit.job.pk).version
    jobs.edit_findings(visit.job.pk, found, version=version, by=visit.by(visit.technician))


def _quote(visit: Visit) -> None:
    draft = quotes.start_quote(visit.work_order.pk, by=visit.by(visit.crew.owner))
    choice = draft.choices.get()
    for empty in list(choice.options.all()):
        quotes.remove_option(empty.pk, version=empty.version, by=visit.by(visit.crew.owner))
    for facts in visit.facts["options"]:
        _offer(visit, choice_pk=choice.pk, facts=facts)
    draft.refresh_from_db()
    visit.revision = quotes.send_quote(draft.pk, version=draft.version, by=visit.by(visit.crew.owner))


def _offer(visit: Visit, *, choice_pk: int, facts: Facts) -> None:
    words = {key: facts[key] for key in ("title", "explanation", "left_out", "warranty_covers")}
    numbers = {key: facts[key] for key in ("days", "warranty_months")}
    option = quotes.add_option(
        choice_pk, OptionInput(way=Way(facts["way"]), **words, **numbers), by=visit.by(visit.crew.owner)
    )
    for kind, description, number, quantity, unit, price, cost in facts["lines"]:
        line = LineInput(
            kind=LineKind(kind),
            description=description,
            number=number,
            quantity=Decimal(quantity),
            unit=Unit(unit),
            unit_price=Decimal(price),
            unit_cost=None if cost is None else Decimal(cost),
        )
        quotes.add_line(option.pk, line, by=visit.by(visit.crew.owner))


def _approve(visit: Visit) -> None:
    link, _token = links.open_counter(visit.revision.pk, by=visit.by(visit.crew.desk))
    choice = visit.revision.choices.get()
    option = QuoteOption.objects.filter(choice=choice).order_by("position").first()
    signed = DecisionInput(
        is_declined=False,
        chosen={choice.pk: option.pk if option else None},
        signed_name=visit.work_order.customer.name,
    )
    customer = Actor(scope=Scope.LINK, link=link, at=visit.at + timedelta(minutes=10))
    decide(visit.revision.pk, signed, by=customer)


def _work(visit: Visit) -> None:
    jobs.start_work(visit.job.pk, by=visit.by(visit.technician))
    for line in QuoteLine.objects.filter(option__answers__choice__job=visit.job).order_by("position"):
        _log(visit, line)


def _log(visit: Visit, line: QuoteLine) -> None:
    by, quantity = visit.by(visit.technician), Decimal(line.quantity_milli) / 1000
    match line.kind:
        case LineKind.PART:
            actuals.use_part(visit.job.pk, actuals.UsePartInput(quantity=quantity, line=line.pk), by=by)
        case LineKind.LABOUR:
            minutes = int(quantity * 60) + 7
            actuals.log_time(visit.job.pk, actuals.LogTimeInput(minutes=minutes, line=line.pk), by=by)
        case LineKind.FLUID:
            poured = actuals.LogFluidInput(
                point="Gearcase", product=line.description, filled_ml=line.quantity_milli, line=line.pk
            )
            actuals.log_fluid(visit.job.pk, poured, by=by)


def _finish(visit: Visit) -> None:
    jobs.finish_work(visit.job.pk, by=visit.by(visit.technician))


def _prove(visit: Visit) -> None:
    run = job_tests.RecordTestInput(
        has_passed=True, conditions="Calm, two persons aboard, 14 °C", remarks="No leak, no alarm, oil clear"
    )
    job_tests.record_test(visit.job.pk, run, by=visit.by(visit.technician))
    told = work_orders.TellInput(how=ToldHow.PHONE)
    work_orders.tell_customer(visit.work_order.pk, told, by=visit.by(visit.crew.desk))


def _bill_and_leave(visit: Visit) -> None:
    desk = visit.crew.desk
    draft = invoices.draft_invoice(visit.work_order.pk, by=visit.by(desk))
    issued: Invoice = invoices.issue_invoice(draft.pk, by=visit.by(desk))
    amount = from_minor(issued.total_minor, currency=the_shop().currency)
    payments.take_payment(issued.pk, payments.PaymentInput(amount=amount, method="card"), by=visit.by(desk))
    gone = work_orders.HandBackInput(gone_to=visit.work_order.customer.name)
    work_orders.hand_back(visit.work_order.pk, gone, by=visit.by(desk))


STEPS: tuple[Callable[[Visit], None], ...] = (
    _diagnose,
    _quote,
    _approve,
    _work,
    _finish,
    _prove,
    _bill_and_leave,
)
