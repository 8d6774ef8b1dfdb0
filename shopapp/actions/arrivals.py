"""A boat arrives: customer, boat, engines and work order are written down in one go."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity, search_texts
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.custody import CustodyInput, take_in
from shopapp.actions.customers import CustomerInput, add_customer, require_known
from shopapp.actions.engines import EngineInput, HoursInput, add_engine, read_hours
from shopapp.actions.intakes import TermsInput, begin_intake, usual_terms_input
from shopapp.actions.locks import locked
from shopapp.actions.numbering import take_number
from shopapp.actions.rights import desk_person
from shopapp.actions.vessels import VesselInput, add_vessel, hand_to
from shopapp.actions.visit_people import PersonOnVisit, add_people
from shopapp.calc.errors import BadInput
from shopapp.models import (
    CustodyMove,
    Customer,
    Engine,
    EnginePosition,
    Fuel,
    Job,
    JobAssignment,
    PartInVisit,
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
LONGEST_NOTE = 300


class LikelyKnown(BadInput):
    """A new customer who has the name or the telephone of a known one; a person says who it is."""

    @property
    def sentence(self) -> str:
        """What the desk has to do, without the value: it stands in the fields above."""
        return _("We seem to know this customer. Say who it is, then open the work order again.")


@dataclass(frozen=True, kw_only=True)
class ArrivingEngine:
    """An engine on the boat: known by its number, or new with its place on the transom; its hours now.

    ``is_about``: the complaint is about it, so it gets a job of its own.
    """

    engine: EngineInput | int
    position: str = EnginePosition.SINGLE
    hours: HoursInput | None = None
    is_about: bool = True


@dataclass(frozen=True, kw_only=True)
class ArrivalState:
    """How the boat came: fuel, keys, what lies in it, what it stands on, where it was put, what was seen."""

    fuel: str = ""
    keys_tag: str = ""
    loose_gear: str = ""
    trailer: str = ""
    place: str = ""
    seen: str = ""


@dataclass(frozen=True, kw_only=True)
class ArrivalInput:
    """What the counter writes down. A number names a row that is known; data makes a new one.

    ``customer`` None: the present owner of a known boat. One job for each engine that the complaint is
    about, and one on the boat itself where it ``is_about_boat``. ``is_somebody_new``: a person has looked at
    the likely customers and said that it is none of them. ``terms`` None: the shop's usual ones.
    """

    complaint: str
    customer: CustomerInput | int | None
    vessel: VesselInput | int
    engines: tuple[ArrivingEngine, ...] = ()
    is_about_boat: bool = False
    is_somebody_new: bool = False
    state: ArrivalState = ArrivalState()
    people: tuple[PersonOnVisit, ...] = ()
    terms: TermsInput | None = None
    purchase_order: str = ""
    promised_date: date | None = None
    test_kind: str = TestKind.WATER
    technicians: tuple[int, ...] = ()


@transaction.atomic
def open_work_order(data: ArrivalInput, *, by: Actor) -> WorkOrder:
    """Open a work order with its jobs, terms, people and custody; writes whoever and whatever is new.

    Locks the known boat, customer and engines in this order, then the number series, then the chain head. A
    repeated send is answered by its request key; without one it opens a second work order. If the power
    fails before the commit nothing was written and the number is not used. Raises BadInput at the field,
    LikelyKnown when the new customer seems to be known, NotAllowed for whoever is not at the desk, Refused
    for a customer whose data was erased.
    """
    person = desk_person(by)
    day = local_day(the_shop(), by.at)
    _check(data, today=day)
    customer, vessel, entries = _parties(data, day=day)
    engines, engine_entries = _engines_of(data, vessel=vessel, by=by)
    work_order = _written(data, vessel=vessel, customer=customer, person=person, at=by.at)
    jobs = _first_jobs(data, work_order=work_order, engines=engines)
    begin_intake(work_order, data.terms if data.terms is not None else usual_terms_input(), by=by)
    search_texts.index(customer, vessel, *engines, work_order)
    entries += [*engine_entries, _opened(work_order, job=jobs[0]), *add_people(work_order, data.people)]
    came = _what_came(data, who=_bringer(data) or customer.name)
    activity.record([*entries, *take_in(work_order, came, by=by)], by=by)
    return work_order


def _written(
    data: ArrivalInput, *, vessel: Vessel, customer: Customer, person: Person, at: datetime
) -> WorkOrder:
    state = data.state
    return WorkOrder.objects.create(
        number=take_number("work_order"),
        vessel=vessel,
        customer=customer,
        stage=Stage.HERE,
        complaint=data.complaint.strip(),
        arrival_state=state.seen.strip(),
        fuel=state.fuel,
        keys_tag=state.keys_tag.strip(),
        loose_gear=state.loose_gear.strip(),
        trailer=state.trailer.strip(),
        purchase_order=data.purchase_order.strip(),
        promised_date=data.promised_date,
        opened_at=at,
        opened_by=person,
    )


def _bringer(data: ArrivalInput) -> str:
    return next((one.name.strip() for one in data.people if one.part == PartInVisit.BRINGER), "")


def _what_came(data: ArrivalInput, *, who: str) -> list[CustodyInput]:
    """The boat, and of the rest what was written down."""
    state, came = data.state, CustodyMove.IN.value
    notes = {Thing.TRAILER: state.trailer, Thing.KEYS: state.keys_tag, Thing.GEAR: state.loose_gear}
    boat = CustodyInput(thing=Thing.BOAT, move=came, who=who, place=state.place)
    rest = [
        CustodyInput(thing=thing, move=came, who=who, note=" ".join(note.split())[:LONGEST_NOTE])
        for thing, note in notes.items()
        if note.strip()
    ]
    return [boat, *rest]


def _check(data: ArrivalInput, *, today: date) -> None:
    if not data.complaint.strip():
        raise BadInput("complaint", data.complaint, _("what the customer says is wrong"))
    require_promise(data.promised_date, today=today)
    if data.test_kind not in TestKind.values:
        raise BadInput("test_kind", data.test_kind, _("a kind of test from the list"))
    require_fuel(data.state.fuel)
    if data.customer is None and isinstance(data.vessel, VesselInput):
        raise BadInput("customer", "nobody", _("the customer whose boat this is"))
    if not data.is_about_boat and not any(one.is_about for one in data.engines):
        raise BadInput("engine", "nothing", _("an engine, or the boat itself"))


def require_promise(day: date | None, *, today: date) -> None:
    """Raises BadInput for a day that is past or absurdly far away."""
    latest = today + LONGEST_PROMISE
    if day is not None and not today <= day <= latest:
        accepted = _("a day from %(first)s to %(last)s") % {"first": today, "last": latest}
        raise BadInput("promised_date", day, accepted)


def require_fuel(fuel: str) -> None:
    """Raises BadInput for what no tank shows."""
    if fuel not in Fuel.values:
        raise BadInput("fuel", fuel, _("what the tank shows, from the list"))


def _locked_vessel(pk: int) -> Vessel:
    row = locked(Vessel.objects.filter(pk=pk)).first()
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
    rows = locked(Customer.objects.all(), of=("self",))
    if data.customer is not None:
        found = rows.filter(pk=data.customer).first()
    else:
        found = rows.filter(ownerships__vessel=vessel, ownerships__until_date=None).first()
    if found is None:
        raise BadInput("customer", data.customer or "nobody", _("the customer whose boat this is"))
    require_known(found)
    return found, []


def _engines_of(data: ArrivalInput, *, vessel: Vessel, by: Actor) -> tuple[list[Engine], list[Entry]]:
    """The engines in the order in which they were given, new ones hung on the boat, their hours read."""
    known = [one.engine for one in data.engines if isinstance(one.engine, int)]
    mounted = Engine.objects.filter(mountings__vessel=vessel, mountings__until_date=None)
    rows = {row.pk: row for row in locked(mounted.filter(pk__in=known), of=("self",)).order_by("pk")}
    strangers = [pk for pk in known if pk not in rows]
    if strangers or len(known) != len(set(known)):
        raise BadInput("engine", next(iter(strangers), known[-1]), _("an engine that hangs on this boat"))
    day = local_day(the_shop(), by.at)
    engines, entries = [], []
    for one in data.engines:
        if isinstance(one.engine, int):
            row = rows[one.engine]
        else:
            row, entry = add_engine(one.engine, vessel=vessel, position=one.position, day=day)
            entries.append(entry)
        engines.append(row)
        if one.hours is not None:
            entries.append(read_hours(row, one.hours, by=by))
    return engines, entries


def _first_jobs(data: ArrivalInput, *, work_order: WorkOrder, engines: Sequence[Engine]) -> list[Job]:
    """A job for each engine the complaint is about, in their order; then one on the boat itself."""
    about = [row for row, one in zip(engines, data.engines, strict=True) if one.is_about]
    on: list[Engine | None] = [*about, *([None] if data.is_about_boat else [])]
    jobs = [
        Job.objects.create(
            work_order=work_order,
            engine=engine,
            position=position,
            stage=Stage.HERE,
            complaint=work_order.complaint,
            test_kind=data.test_kind,
        )
        for position, engine in enumerate(on, start=1)
    ]
    people = _chosen_technicians(data.technicians)
    JobAssignment.objects.bulk_create(
        [JobAssignment(job=job, person=person) for job in jobs for person in people]
    )
    return jobs


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
