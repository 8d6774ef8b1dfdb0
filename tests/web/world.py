"""A shop with two of everything: what is one technician's own, and what is another's."""

import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.test import Client
from django.urls import reverse

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.dock_calls import HandOutInput, hand_out_dock_call
from shopapp.actions.holds import HoldInput, place_hold
from shopapp.actions.intakes import open_intake
from shopapp.actions.invoices import draft_invoice
from shopapp.actions.payments import PaymentInput, take_deposit
from shopapp.actions.questions import ask_question
from shopapp.actions.quotes import remove_line
from shopapp.actions.waste import PutInInput, put_in
from shopapp.models import (
    CallSlip,
    ClockSpan,
    DockCall,
    EngineFamily,
    FeeRate,
    FluidCapacity,
    Hold,
    Intake,
    JobAssignment,
    ParkedForm,
    Part,
    PartUsed,
    Person,
    Photo,
    QuoteChoice,
    QuoteLine,
    QuoteOption,
    QuoteRevision,
    Reading,
    Removed,
    StepList,
    WasteKind,
    WorkOrder,
)
from tests.factories import EngineFactory, JobFactory, PersonFactory, WorkOrderFactory, found_shop
from tests.factories.devices import at_tablet, enrolled, with_pin
from tests.factories.entries import waiting_entry
from tests.factories.invoices import finished_job, issued
from tests.factories.jobs import stored
from tests.factories.quotes import behind, draft_quote, opened_link, sent_quote
from tests.factories.waste import container_of

ROLES = ("nobody", "front desk", "technician", "owner", "customer link", "owner by PIN")
# kind of record → its key in an address
type Keys = dict[str, Any]


@dataclass(frozen=True, kw_only=True)
class World:
    """Who may ask (role → cookies of a browser), and the keys of the records they may ask for."""

    cookies: dict[str, dict[str, str]]
    own: Keys
    others: Keys


def found_world(at: datetime) -> World:
    """The invented shop with one visit of each kind for Tobiah, who asks, and one for Wen."""
    found_shop()
    ilse = PersonFactory.create(username="ilse", name="Ilse Brandt")
    maren = PersonFactory.create(username="maren", name="Maren Falk", is_owner=True)
    tobiah = PersonFactory.create(username="tobiah", name="Tobiah Reyes", is_technician=True)
    wen = PersonFactory.create(username="wen", name="Wen Okafor", is_technician=True)
    own, others = (_half(one, ilse=ilse, at=at) for one in (tobiah, wen))
    cookies = {"front desk": _signed_in(ilse), "technician": _signed_in(tobiah), "owner": _signed_in(maren)}
    _signed_in(wen)
    for half, person in ((own, tobiah), (others, wen)):
        half |= {"person": person.pk, "session": person.browser_sessions.get().code}
    link = _behind_link(own["token"])
    cookies |= {"nobody": {}, "customer link": link, "owner by PIN": _by_pin(maren, beside=tobiah, at=at)}
    return World(cookies=cookies, own=own, others=others)


def _half(technician: Person, *, ilse: Person, at: datetime) -> Keys:
    by = Actor(scope=Scope.DESK, person=ilse, at=at)
    visit = _visit(technician)
    photo = _photo(visit, by=by)
    sent = sent_quote(ilse, at=at, work_order=visit)
    link, token = opened_link(sent, ilse, at=at)
    intake = Intake.objects.create(work_order=visit, created_at=at)
    draft = draft_quote(ilse, at=at, work_order=_visit(technician))
    removed = _removed_line(draft, by=by)
    bill, unissued = issued(by=by), draft_invoice(finished_job().work_order_id, by=by)
    JobAssignment.objects.create(job=bill.work_order.jobs.get(), person=technician)
    fee = FeeRate.objects.create(name=f"Lift out {visit.pk}", kind="lift", unit_price_e4=850_000)
    return {
        "fee": fee.pk,
        "record": _record(visit, at=at),
        **_of_visit(visit),
        **_of_draft(draft),
        "call slip": _slip(visit, by=by).pk,
        **_of_book(visit),
        **_of_used_oil(technician, ilse=by),
        "removed": removed.pk,
        "parked form": _parked(ilse, at=at).pk,
        "photo": photo.pk,
        "reading": _reading(visit, technician, at=at).pk,
        **_of_steps(visit, technician, at=at),
        "hold": _hold(visit, by=by),
        "sha256": photo.sha256,
        "question": ask_question(sent.pk, "Is it safe to run?", by=behind(link, at=at)).pk,
        "token": token,
        "intake token": open_intake(intake.pk, by=by)[1],
        "revision": sent.pk,
        "invoice": bill.pk,
        "device": enrolled(technician, at=at)[0].pk,
        "dock call": (call := _dock_call(visit, technician, by=by)).pk,
        "dock photo": f"{call.pk}-{photo.sha256}",
        "clock": ClockSpan.objects.create(
            mark=uuid.uuid4(), person=technician, job=visit.jobs.get(), kind="repair", on_at=at
        ).pk,
        "tablet entry": waiting_entry(visit.jobs.get(), at=at).pk,
        "worker": with_pin(technician, at=at).pk,
        "part": Part.objects.create(number=f"SR-{visit.pk}", description="Shaft seal").pk,
        "row": f"part_used-{_logged(visit, technician, at=at).pk}",
        "draft invoice": unissued.pk,
        "invoice line": unissued.lines.get().pk,
        "payment": take_deposit(
            bill.work_order_id, PaymentInput(amount=Decimal(10), method="card"), by=by
        ).pk,
    }


def _visit(technician: Person) -> WorkOrder:
    return JobFactory.create(
        work_order=WorkOrderFactory.create(stage="diagnosis"), technician=technician
    ).work_order


def _dock_call(visit: WorkOrder, technician: Person, *, by: Actor) -> DockCall:
    tablet = enrolled(technician, at=by.at, name=f"Dock tablet of {technician.name}")[0]
    with_pin(technician, at=by.at)
    return hand_out_dock_call(visit.pk, HandOutInput(person=technician.pk, device=tablet.pk), by=by)


def _record(visit: WorkOrder, *, at: datetime) -> str:
    """What the shop knows of a new part on an engine that went home, by its name in an address."""
    finished_job(
        work_order=WorkOrderFactory.create(stage="gone", gone_at=at),
        engine=EngineFactory.create(model=f"P{visit.pk}"),
        stage="gone",
    )
    return f"new-petrelmarine-p{visit.pk}"


def _of_book(visit: WorkOrder) -> Keys:
    family = EngineFamily.objects.create(make="Petrel Marine", name=f"P{visit.pk}")
    gearcase = FluidCapacity.objects.create(
        family=family, point="Gearcase", amount_e4=3_500_000, unit="ml", ml=350, page="6-4"
    )
    return {"family": family.pk, "value": f"capacity-{gearcase.pk}"}


def _of_used_oil(technician: Person, *, ilse: Actor) -> Keys:
    """A container, and what the technician poured into it."""
    drum = container_of(ilse, name=f"Drum of {technician.name}")
    tray = PutInInput(volume_ml=4_000, kind=WasteKind.USED_OIL, what="Drip tray")
    poured = put_in(drum.pk, tray, by=Actor(scope=Scope.DESK, person=technician, at=ilse.at))
    return {"container": drum.pk, "waste row": f"pour-{poured.pk}"}


def _slip(visit: WorkOrder, *, by: Actor) -> CallSlip:
    return CallSlip.objects.create(
        work_order=visit, name="Aud Nilsen", about="When is it ready?", taken_by=by.person, taken_at=by.at
    )


def _hold(visit: WorkOrder, *, by: Actor) -> int:
    chaser = Person.objects.get(username="ilse").pk
    day = by.at.date() + timedelta(days=2)
    return place_hold(visit.pk, HoldInput(kind=Hold.PARTS, chase_date=day, chaser=chaser), by=by).pk


def _parked(person: Person, *, at: datetime) -> ParkedForm:
    return ParkedForm.objects.create(person=person, title="New call slip", path="/calls/new/", parked_at=at)


def _photo(visit: WorkOrder, *, by: Actor) -> Photo:
    kept = stored(colour=f"#{visit.pk % 200 + 16:02x}8040")
    return Photo.objects.create(
        work_order=visit,
        job=visit.jobs.get(),
        sha256=kept.sha256,
        width=kept.width,
        height=kept.height,
        byte_size=kept.byte_size,
        taken_by=by.person,
        taken_at=by.at,
    )


def _removed_line(draft: QuoteRevision, *, by: Actor) -> Removed:
    line = QuoteLine.objects.filter(option__choice__revision=draft).latest("pk")
    remove_line(line.pk, version=line.version, by=by)
    return Removed.objects.latest("pk")


def _logged(visit: WorkOrder, technician: Person, *, at: datetime) -> PartUsed:
    return PartUsed.objects.create(
        job=visit.jobs.get(),
        description="O-ring",
        quantity_milli=1_000,
        logged_by=technician,
        happened_at=at,
        recorded_at=at,
    )


def _reading(visit: WorkOrder, technician: Person, *, at: datetime) -> Reading:
    row = Reading.objects.create(
        job=visit.jobs.get(),
        kind="voltage",
        verdict="no_limit",
        verdict_words="no limit known",
        logged_by=technician,
        happened_at=at,
        recorded_at=at,
    )
    row.values.create(value_e4=126_000, verdict="no_limit")
    return row


def _of_steps(visit: WorkOrder, technician: Person, *, at: datetime) -> Keys:
    job = visit.jobs.get()
    known = {"origin": "hand", "added_by": technician, "added_at": at}
    open_one, ticked = (job.steps.create(position=n, text=f"Step {n}", **known) for n in (1, 2))
    tick = ticked.ticks.create(ticked_by=technician, happened_at=at, recorded_at=at)
    steps = StepList.objects.create(title=f"Gear oil change {visit.pk}")
    return {"step": open_one.pk, "tick": tick.pk, "step list": steps.pk}


def _of_visit(visit: WorkOrder) -> Keys:
    job = visit.jobs.get()
    return {
        "work order": visit.pk,
        "job": job.pk,
        "customer": visit.customer_id,
        "vessel": visit.vessel_id,
        "engine": job.engine_id,
    }


def _of_draft(draft: QuoteRevision) -> Keys:
    choice = QuoteChoice.objects.get(revision=draft)
    option = QuoteOption.objects.filter(choice=choice).earliest("position")
    return {
        "draft": draft.pk,
        "choice": choice.pk,
        "option": option.pk,
        "line": option.lines.earliest("pk").pk,
    }


def _signed_in(person: Person) -> dict[str, str]:
    client = Client()
    client.force_login(person)
    return kept_cookies(client)


def _by_pin(owner: Person, *, beside: Person, at: datetime) -> dict[str, str]:
    """The owner at an enrolled tablet, on the jobs of the technician who asks: rights of the bench only."""
    for one in beside.assignments.all():
        JobAssignment.objects.create(job=one.job, person=owner)
    return kept_cookies(at_tablet(owner, at=at))


def _behind_link(token: str) -> dict[str, str]:
    client = Client()
    client.get(reverse("approvals:enter", args=[token]))
    return kept_cookies(client)


def kept_cookies(client: Client) -> dict[str, str]:
    """Names and values of a browser's cookies."""
    return {name: morsel.value for name, morsel in client.cookies.items()}
