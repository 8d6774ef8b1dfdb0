"""The counter's steps of the demo: a boat arrives, terms are signed, photos, holds, who has the boat."""

from decimal import Decimal

from shopapp.actions import custody, holds, intakes
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.arrivals import ArrivalInput, ArrivalState, ArrivingEngine, open_work_order
from shopapp.actions.customers import CustomerInput
from shopapp.actions.engines import EngineInput, HoursInput
from shopapp.actions.photos import PhotoInput, add_photo
from shopapp.actions.vessels import VesselInput
from shopapp.actions.visit_people import PersonOnVisit
from shopapp.documents.canonical import canonical, digest
from shopapp.management.demo.world import Facts, Visit, World, drawn_name
from shopapp.models import (
    EnginePosition,
    Hold,
    HoursSource,
    Intake,
    Job,
    PlacedHold,
    SerialState,
    TestKind,
)
from shopapp.queries.intakes import intake_content


def arrive(facts: Facts, *, world: World, by: Actor) -> Visit:
    """Write the boat down; a boat that was here before brings its owner and engines along."""
    before = world.visits.get(facts.get("again", ""))
    promised = facts.get("promised")
    order = open_work_order(
        ArrivalInput(
            complaint=facts["complaint"],
            customer=CustomerInput(**facts["customer"]) if before is None else None,
            vessel=VesselInput(**facts["boat"]) if before is None else before.work_order.vessel_id,
            engines=_new_engines(facts) if before is None else _known_engines(facts, before=before),
            is_about_boat=facts.get("about_boat", False),
            state=ArrivalState(**facts.get("state", {})),
            people=tuple(_person(one, world=world) for one in facts.get("people", ())),
            purchase_order=facts.get("purchase_order", ""),
            promised_date=None if promised is None else world.calendar.day(promised),
            test_kind=facts.get("test", TestKind.WATER),
            technicians=tuple(world.people[name].pk for name in facts.get("technicians", ())),
        ),
        by=by,
    )
    return Visit(facts, order, list(Job.objects.filter(work_order=order).order_by("position")))


def _person(facts: Facts, *, world: World) -> PersonOnVisit:
    """Somebody on the visit; who pays is the customer of an earlier one."""
    values = dict(facts)
    of = values.pop("customer_of", None)
    up_to = values.pop("up_to", None)
    return PersonOnVisit(
        customer=None if of is None else world.visits[of].work_order.customer_id,
        up_to=None if up_to is None else Decimal(up_to),
        **values,
    )


def _new_engines(facts: Facts) -> tuple[ArrivingEngine, ...]:
    return tuple(_engine(one) for one in facts["engines"])


def _engine(facts: Facts) -> ArrivingEngine:
    serial, power = facts.get("serial", ""), facts.get("hp")
    unread = facts.get("serial_state", SerialState.NOT_LOOKED)
    return ArrivingEngine(
        engine=EngineInput(
            make=facts.get("make", ""),
            model=facts.get("model", ""),
            serial=serial,
            serial_state=SerialState.READ if serial else unread,
            year=facts.get("year"),
            power_tenths_hp=None if power is None else power * 10,
        ),
        position=facts.get("position", EnginePosition.SINGLE),
        hours=_hours(facts.get("hours")),
        is_about=facts.get("about", True),
    )


def _known_engines(facts: Facts, *, before: Visit) -> tuple[ArrivingEngine, ...]:
    keys = [job.engine_id for job in before.jobs if job.engine_id is not None]
    return tuple(ArrivingEngine(engine=key, hours=_hours(facts.get("hours"))) for key in keys)


def _hours(text: str | None) -> HoursInput | None:
    return HoursInput(tenths=int(Decimal(text) * 10), source=HoursSource.METER) if text else None


def sign_terms(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The terms are written as agreed, and signed by the customer on the tablet or on paper."""
    intake = Intake.objects.get(work_order=visit.work_order, signed_at=None)
    terms = intakes.usual_terms_input()
    allowed = dict.fromkeys(facts.get("may", ("may_run", "may_move")), True)
    written = intakes.TermsInput(
        diagnosis_fee=terms.diagnosis_fee,
        spending_limit=Decimal(facts.get("limit", terms.spending_limit)),
        **allowed,
    )
    intake = intakes.write_terms(visit.work_order.pk, written, version=intake.version, by=by)
    seen = digest(canonical(intake_content(intake, at=by.at)))
    name = facts.get("name", visit.work_order.customer.name)
    if facts.get("on_paper"):
        intakes.sign_intake(intake.pk, intakes.SignInput(signed_name=name, seen_sha256=seen), by=by)
        return
    link, _token = intakes.open_intake(intake.pk, by=by)
    signed = intakes.SignInput(signed_name=name, seen_sha256=seen, strokes=drawn_name(name))
    intakes.sign_intake(intake.pk, signed, by=Actor(scope=Scope.LINK, link=link, at=by.at))


def take_photo(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """A photo that lies in the store gets its place and its words."""
    data = PhotoInput(
        stored=world.photos[facts["picture"]],
        caption=facts["caption"],
        is_of_arrival=facts.get("arrival", False),
    )
    add_photo(visit.job(facts).pk, data, by=by)


def move_thing(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """A thing comes in, goes out or is moved."""
    custody.record_custody(visit.work_order.pk, custody.CustodyInput(**facts), by=by)


def hold(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The visit, or the job that is named, waits for something."""
    data = holds.HoldInput(
        kind=Hold(facts["kind"]),
        chase_date=world.calendar.day(facts["chase"]),
        chaser=world.people[facts["chaser"]].pk,
        note=facts["note"],
        job=visit.job(facts).pk if "job" in facts else None,
    )
    holds.place_hold(visit.work_order.pk, data, by=by)


def chase(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """Somebody asked again about what the visit waits for."""
    row = PlacedHold.objects.get(work_order=visit.work_order, kind=facts["kind"], released_at=None)
    data = holds.ChaseInput(
        chase_date=world.calendar.day(facts["chase"]),
        chaser=world.people[facts["chaser"]].pk,
        note=facts["note"],
    )
    holds.chase_hold(row.pk, data, version=row.version, by=by)


def release(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The wait of that kind is over."""
    row = PlacedHold.objects.get(work_order=visit.work_order, kind=facts["kind"], released_at=None)
    holds.release_hold(row.pk, by=by)
