"""A boat arrives: customer, boat, engine and work order are written down in one go."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity, search_texts
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.custody import CustodyInput, take_in
from shopapp.actions.customers import CustomerInput, add_customer
from shopapp.actions.engines import EngineInput, HoursInput, add_engine, read_hours
from shopapp.actions.numbering import take_number
from shopapp.actions.rights import desk_person
from shopapp.actions.vessels import VesselInput, add_vessel, hand_to
from shopapp.calc.errors import BadInput
from shopapp.models import (
    CustodyMove,
    Customer,
    Engine,
    EnginePosition,
    Job,
    JobAssignment,
    Person,
    Stage,
    TestKind,
    Thing,
    Vessel,
    WorkOrder,
)
from shopapp.queries.customers import likely_customers
from shopapp.queries.people import technicians
from shopapp.queries.shop import local_day, the_shop

LONGEST_PROMISE = timedelta(days=730)


class LikelyKnown(BadInput):
    """A new customer who has the name or the telephone of a known one; a person says who it is."""

    @property
    def sentence(self) -> str:
        """What the desk has to do, without the value: it stands in the fields above."""
        return _("We seem to know this customer. Say who it is, then open the work order again.")


@dataclass(frozen=True, kw_only=True)
class NewEngine:
    """An engine seen for the first time, and its place on the transom."""

    engine: EngineInput
    position: str = EnginePosition.SINGLE


@dataclass(frozen=True, kw_only=True)
class ArrivalInput:
    """What the counter writes down. A number names a row that is known; data makes a new one.

    ``customer`` None: the present owner of a known boat. ``engine`` None: the job is on the boat itself.
    ``is_somebody_new``: a person has looked at the likely customers and said that it is none of them.
    """

    complaint: str
    customer: CustomerInput | int | None
    vessel: VesselInput | int
    engine: NewEngine | int | None
    hours: HoursInput | None = None
    is_somebody_new: bool = False
    arrival_state: str = ""
    promised_date: date | None = None
    test_kind: str = TestKind.WATER
    technicians: tuple[int, ...] = ()


@transaction.atomic
def open_work_order(data: ArrivalInput, *, by: Actor) -> WorkOrder:
    """Open a work order with its first job; writes customer, boat, engine and hours where they are new.

    Locks the known boat, customer and engine in this order, then the number series, then the chain head. A
    repeated send is answered by its request key; without one it opens a second work order. If the power
    fails before the commit nothing was written and the number is not used. Raises BadInput at the field,
    LikelyKnown when the new customer seems to be known, NotAllowed for whoever is not at the desk.
    """
    person = desk_person(by)
    day = local_day(the_shop(), by.at)
    _check(data, today=day)
    customer, vessel, entries = _parties(data, day=day)
    engine, engine_entries = _engine_of(data, vessel=vessel, day=day)
    if data.hours is not None and engine is not None:
        engine_entries.append(read_hours(engine, data.hours, by=by))
    work_order = WorkOrder.objects.create(
        number=take_number("work_order"),
        vessel=vessel,
        customer=customer,
        stage=Stage.HERE,
        complaint=data.complaint.strip(),
        arrival_state=data.arrival_state.strip(),
        promised_date=data.promised_date,
        opened_at=by.at,
        opened_by=person,
    )
    job = _first_job(data, work_order=work_order, engine=engine)
    search_texts.index(customer, vessel, *([engine] if engine is not None else []), work_order)
    opened = _opened(work_order, job=job)
    came = CustodyInput(thing=Thing.BOAT, move=CustodyMove.IN, who=customer.name)
    activity.record([*entries, *engine_entries, opened, *take_in(work_order, [came], by=by)], by=by)
    return work_order


def _check(data: ArrivalInput, *, today: date) -> None:
    latest = today + LONGEST_PROMISE
    if not data.complaint.strip():
        raise BadInput("complaint", data.complaint, _("what the customer says is wrong"))
    if data.promised_date is not None and not today <= data.promised_date <= latest:
        accepted = _("a day from %(first)s to %(last)s") % {"first": today, "last": latest}
        raise BadInput("promised_date", data.promised_date, accepted)
    if data.test_kind not in TestKind.values:
        raise BadInput("test_kind", data.test_kind, _("a kind of test from the list"))
    if data.customer is None and isinstance(data.vessel, VesselInput):
        raise BadInput("customer", "nobody", _("the customer whose boat this is"))
    if data.hours is not None and data.engine is None:
        raise BadInput("hours", data.hours.tenths, _("hours only with the engine they belong to"))


def _locked_vessel(pk: int) -> Vessel:
    row = Vessel.objects.select_for_update().filter(pk=pk).first()
    if row is None:
        raise BadInput("vessel", pk, _("a boat that is known here"))
    return row


def _parties(data: ArrivalInput, *, day: date) -> tuple[Customer, Vessel, list[Entry]]:
    if isinstance(data.vessel, VesselInput):
        customer, entries = _customer_of(data, vessel=None)
        vessel, added = add_vessel(data.vessel, owner=customer, day=day)
        return customer, vessel, [*entries, added]
    vessel = _locked_vessel(data.vessel)
    customer, entries = _customer_of(data, vessel=vessel)
    return customer, vessel, [*entries, *hand_to(vessel, owner=customer, day=day)]


def _customer_of(data: ArrivalInput, *, vessel: Vessel | None) -> tuple[Customer, list[Entry]]:
    if isinstance(data.customer, CustomerInput):
        if not data.is_somebody_new and likely_customers(name=data.customer.name, phone=data.customer.phone):
            raise LikelyKnown("likely", data.customer.name, _("who it is"))
        row, entry = add_customer(data.customer)
        return row, [entry]
    rows = Customer.objects.select_for_update(of=("self",))
    if data.customer is not None:
        found = rows.filter(pk=data.customer).first()
    else:
        found = rows.filter(ownerships__vessel=vessel, ownerships__until_date=None).first()
    if found is None:
        raise BadInput("customer", data.customer or "nobody", _("the customer whose boat this is"))
    return found, []


def _engine_of(data: ArrivalInput, *, vessel: Vessel, day: date) -> tuple[Engine | None, list[Entry]]:
    if data.engine is None:
        return None, []
    if isinstance(data.engine, NewEngine):
        new = data.engine
        row, entry = add_engine(new.engine, vessel=vessel, position=new.position, day=day)
        return row, [entry]
    mounted = Engine.objects.filter(mountings__vessel=vessel, mountings__until_date=None)
    found = mounted.select_for_update(of=("self",)).filter(pk=data.engine).first()
    if found is None:
        raise BadInput("engine", data.engine, _("an engine that hangs on this boat"))
    return found, []


def _first_job(data: ArrivalInput, *, work_order: WorkOrder, engine: Engine | None) -> Job:
    job = Job.objects.create(
        work_order=work_order,
        engine=engine,
        position=1,
        stage=Stage.HERE,
        complaint=work_order.complaint,
        test_kind=data.test_kind,
    )
    JobAssignment.objects.bulk_create(
        [JobAssignment(job=job, person=person) for person in _chosen_technicians(data.technicians)]
    )
    return job


def _chosen_technicians(chosen: tuple[int, ...]) -> list[Person]:
    known = {person.pk for person in technicians()}
    strangers = sorted(set(chosen) - known)
    if strangers:
        raise BadInput("technicians", strangers[0], _("technicians of this shop"))
    return list(Person.objects.filter(pk__in=chosen).order_by("pk"))


def _opened(work_order: WorkOrder, *, job: Job) -> Entry:
    names = job.assignments.order_by("person__name").values_list("person__name", flat=True)
    facts = {"number": work_order.number, "technicians": ", ".join(names), "test": job.test_kind}
    return Entry(verb="open work order", record=work_order, facts=facts, work_order=work_order)
