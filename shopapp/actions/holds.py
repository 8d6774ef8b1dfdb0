"""What a visit waits for: placed with who chases it and when next, chased, released, taken up again."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity, versions
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.jobs import lock_visit_of_own, person_of
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.models import CLOSED_STAGES, Hold, Job, Person, PlacedHold, WorkOrder
from shopapp.queries.shop import local_day, the_shop

LONGEST_NOTE = 300
LONGEST_WAIT = timedelta(days=730)


@dataclass(frozen=True, kw_only=True)
class HoldInput:
    """What is waited for, who chases it, on which day of the shop next; ``job`` None: the visit."""

    kind: Hold
    chase_date: date
    chaser: int
    note: str = ""
    job: int | None = None


@dataclass(frozen=True, kw_only=True)
class ChaseInput:
    """What came of it, who goes on chasing, and when next."""

    chase_date: date
    chaser: int
    note: str


@transaction.atomic
def place_hold(work_order_pk: int, data: HoldInput, *, by: Actor) -> PlacedHold:
    """Write down that a visit, or one job of it, waits. There may be several at once.

    Locks the work order and last the chain head. The key of the form keeps a second sender from a second
    hold. If the power fails, the hold and its record are there together or not. Raises BadInput, Refused,
    NotAllowed for a technician of another boat and for a hold on payment by anybody but the desk.
    """
    work_order = _open_work_order(work_order_pk, by=by)
    kind = _kind(data.kind, by=by)
    _check(data, by=by)
    hold = PlacedHold.objects.create(
        work_order=work_order,
        job=_job(work_order, data.job),
        kind=kind,
        note=data.note.strip(),
        chaser=_chaser(data.chaser),
        chase_date=data.chase_date,
        placed_at=by.at,
        placed_by=person_of(by),
    )
    activity.record([_told("place hold", hold)], by=by)
    return hold


@transaction.atomic
def chase_hold(hold_pk: int, data: ChaseInput, *, version: int, by: Actor) -> PlacedHold:
    """Note what came of chasing, and when it is chased next, if nobody else did since ``version``.

    Locks the work order, the hold, and last the chain head. A second sender with the same version gets
    Stale and writes nothing. If the power fails, all of it or nothing.
    """
    hold = _locked(hold_pk, by=by)
    if hold.released_at is not None:
        raise Refused(_("This hold is released; nobody waits for it any more."))
    _check(data, by=by)
    changes = {
        "chase_date": data.chase_date,
        "chaser": _chaser(data.chaser),
        "note": data.note.strip(),
    }
    saved = versions.save_edit(hold, version=version, changes=changes)
    activity.record([_told("chase hold", saved)], by=by)
    return saved


@transaction.atomic
def release_hold(hold_pk: int, *, by: Actor) -> PlacedHold:
    """End the wait. A second sender finds it released and changes nothing.

    Locks the work order, the hold, and last the chain head. If the power fails, all of it or nothing.
    """
    hold = _locked(hold_pk, by=by)
    if hold.released_at is None:
        activity.record(_released([hold], by=by), by=by)
    return hold


@transaction.atomic
def restore_hold(hold_pk: int, *, by: Actor) -> PlacedHold:
    """Take a release back: the visit waits again as before. A second sender changes nothing.

    Locks the work order, the hold, and last the chain head. If the power fails, all of it or nothing.
    """
    hold = _locked(hold_pk, by=by)
    if hold.released_at is not None:
        hold.released_at, hold.released_by = None, None
        hold.save(update_fields=["released_at", "released_by"])
        activity.record([_told("restore hold", hold)], by=by)
    return hold


def end_holds(work_order: WorkOrder, *, by: Actor) -> list[Entry]:
    """Release all that a visit waits for, inside the caller's transaction and lock: it is over."""
    rows = locked(PlacedHold.objects.filter(work_order=work_order, released_at__isnull=True), of=("self",))
    return _released(list(rows.order_by("pk")), by=by)


def _released(holds: list[PlacedHold], *, by: Actor) -> list[Entry]:
    for hold in holds:
        hold.released_at, hold.released_by = by.at, person_of(by)
        hold.save(update_fields=["released_at", "released_by"])
    return [_told("release hold", hold) for hold in holds]


def _locked(pk: int, *, by: Actor) -> PlacedHold:
    work_order = _open_work_order(
        PlacedHold.objects.values_list("work_order_id", flat=True).get(pk=pk), by=by
    )
    hold = locked(PlacedHold.objects.filter(pk=pk)).get()
    hold.work_order = work_order
    _kind(Hold(hold.kind), by=by)
    return hold


def _open_work_order(pk: int, *, by: Actor) -> WorkOrder:
    work_order = lock_visit_of_own(pk, by=by)
    if work_order.stage in CLOSED_STAGES:
        raise Refused(_("This visit is over; it waits for nothing any more."))
    return work_order


def _kind(kind: Hold, *, by: Actor) -> Hold:
    if kind == Hold.PAYMENT and not access.may_use_desk(person_of(by)):
        raise NotAllowed(_("A hold on payment is the desk's."))
    return kind


def _check(data: HoldInput | ChaseInput, *, by: Actor) -> None:
    today = local_day(the_shop(), by.at)
    latest = today + LONGEST_WAIT
    if not today <= data.chase_date <= latest:
        accepted = _("a day from %(first)s to %(last)s") % {"first": today, "last": latest}
        raise BadInput("chase_date", data.chase_date, accepted)
    if len(data.note.strip()) > LONGEST_NOTE:
        raise BadInput("note", data.note[:40], _("at most 300 letters"))


def _job(work_order: WorkOrder, pk: int | None) -> Job | None:
    if pk is None:
        return None
    job = Job.objects.filter(work_order=work_order, pk=pk).exclude(stage__in=CLOSED_STAGES).first()
    if job is None:
        raise BadInput("job", pk, _("an open job of this visit, or the visit itself"))
    return job


def _chaser(pk: int) -> Person:
    person = Person.objects.filter(pk=pk, is_active=True).first()
    if person is None or not access.is_staff_member(person):
        raise BadInput("chaser", pk, _("somebody who works here"))
    return person


def _told(verb: str, hold: PlacedHold) -> Entry:
    """The note stays out: that of a hold on payment may name an amount."""
    facts: Payload = {"kind": hold.kind, "chaser": hold.chaser.name, "next": hold.chase_date.isoformat()}
    return Entry(verb=verb, record=hold, facts=facts, work_order=hold.work_order)
