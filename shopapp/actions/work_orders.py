"""Work orders: who works on a job, the customer is told, the boat goes home, a visit is called off."""

from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.custody import let_go
from shopapp.actions.holds import end_holds
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.rights import desk_person
from shopapp.actions.stages import lock_work_order, move_job
from shopapp.calc.errors import BadInput
from shopapp.models import (
    CLOSED_STAGES,
    Job,
    JobAssignment,
    Outcome,
    Person,
    Stage,
    ToldHow,
    WorkOrder,
)
from shopapp.queries.custody import things_here
from shopapp.queries.ways_home import WayHome, obstacle_to_cancelling, way_home

LONGEST_REASON = 300


@dataclass(frozen=True, kw_only=True)
class AssignInput:
    """Which technician is put on a job, or taken off it."""

    person_pk: int
    is_on: bool = True


@dataclass(frozen=True, kw_only=True)
class TellInput:
    """How the customer was told that the boat is ready."""

    how: ToldHow


@dataclass(frozen=True, kw_only=True)
class HandBackInput:
    """Who took the boat home."""

    gone_to: str


@dataclass(frozen=True, kw_only=True)
class ReleaseInput:
    """Who took the boat home with money owed on it, and why the owner lets it go."""

    gone_to: str
    reason: str


@dataclass(frozen=True, kw_only=True)
class CancelInput:
    """Why the visit is called off, and who takes home what is here."""

    reason: str
    gone_to: str = ""


@transaction.atomic
def assign_technician(job_pk: int, data: AssignInput, *, by: Actor) -> Job:
    """Put a technician on an open job, or take one off.

    Locks the work order, the job, and last the chain head. A second sender changes nothing and leaves no
    second record. If the power fails, the assignment and its record are there together or not.
    """
    desk_person(by)
    work_order = lock_work_order(Job.objects.values_list("work_order_id", flat=True).get(pk=job_pk))
    job = locked(Job.objects.filter(pk=job_pk)).get()
    if job.stage in CLOSED_STAGES:
        raise Refused(_("This job is closed; nobody works on it any more."))
    person = Person.objects.filter(pk=data.person_pk, is_technician=True, is_active=True).first()
    if person is None:
        raise BadInput("person", data.person_pk, _("a technician who works here"))
    if _assign(job, person, is_on=data.is_on):
        verb = "assign technician" if data.is_on else "take off technician"
        facts: Payload = {"job": job.position, "technician": person.name}
        activity.record([Entry(verb=verb, record=job, facts=facts, work_order=work_order)], by=by)
    return job


def _assign(job: Job, person: Person, *, is_on: bool) -> bool:
    """Whether anything changed."""
    if is_on:
        return JobAssignment.objects.get_or_create(job=job, person=person)[1]
    return JobAssignment.objects.filter(job=job, person=person).delete()[0] > 0


@transaction.atomic
def tell_customer(work_order_pk: int, data: TellInput, *, by: Actor) -> WorkOrder:
    """Remember that the customer was told, when and how. Refused unless the visit is ready.

    Locks the work order and last the chain head. Telling again is allowed and the last time counts. If the
    power fails, all of it or nothing.
    """
    desk_person(by)
    work_order = lock_work_order(work_order_pk)
    _require_ready(work_order)
    work_order.told_at, work_order.told_how = by.at, data.how
    work_order.save(update_fields=["told_at", "told_how"])
    facts: Payload = {"how": data.how.value}
    entry = Entry(verb="tell customer", record=work_order, facts=facts, work_order=work_order)
    activity.record([entry], by=by)
    return work_order


@transaction.atomic
def hand_back(work_order_pk: int, data: HandBackInput, *, by: Actor) -> WorkOrder:
    """Let the boat go home and close the visit.

    Refused unless every job has ended, the customer was told, nothing that the customer pays is left to
    bill or waits for a price or a yes, and nothing billed is owed but by customers with an account. Boat,
    keys and gear that are here go with it, and what it waited for is released. Locks the work order, its
    jobs and holds, and last the chain head. A second sender is refused: the boat is gone. If the power
    fails, all of it or nothing.
    """
    desk_person(by)
    work_order = _ready_to_go(work_order_pk, gone_to=data.gone_to)
    home = way_home(work_order)
    _require_billed(home)
    if home.owed_now_minor:
        raise Refused(_("There is still money owed on this work order. Take the payment first."))
    return _close(work_order, gone_to=data.gone_to.strip(), by=by)


@transaction.atomic
def release_boat(work_order_pk: int, data: ReleaseInput, *, by: Actor) -> WorkOrder:
    """Let the boat go home although money is owed: the owner's word, with what is owed and the reason.

    Everything else is asked as by ``hand_back``; refused when nothing is owed. Locks the work order, its
    jobs and holds, and last the chain head. A second sender is refused: the boat is gone. If the power
    fails, all of it or nothing.
    """
    owner = desk_person(by)
    if not owner.is_owner:
        raise NotAllowed(_("Only the owner lets a boat go with money owed on it."))
    work_order = _ready_to_go(work_order_pk, gone_to=data.gone_to)
    reason = _words(data.reason, field="reason", accepted=_("why it may go before it is paid"))
    home = way_home(work_order)
    _require_billed(home)
    if not home.owed_now_minor:
        raise Refused(_("Nothing is owed on this work order. Hand the boat back."))
    work_order.released_by, work_order.release_reason = owner, reason
    work_order.released_owing_minor = home.owed_now_minor
    work_order.save(update_fields=["released_by", "release_reason", "released_owing_minor"])
    return _close(work_order, gone_to=data.gone_to.strip(), by=by)


@transaction.atomic
def cancel_visit(work_order_pk: int, data: CancelInput, *, by: Actor) -> WorkOrder:
    """Call a visit off before anything came of it; what is here goes home again.

    Refused once anything is logged, asked, agreed, billed or paid. Locks the work order, its jobs and
    holds, and last the chain head. A second sender is refused: the visit is over. If the power fails, all
    of it or nothing.
    """
    desk_person(by)
    work_order = lock_work_order(work_order_pk)
    if work_order.stage in CLOSED_STAGES:
        raise Refused(_("This visit is over already."))
    reason = _words(data.reason, field="reason", accepted=_("why the visit is called off"))
    obstacle = obstacle_to_cancelling(work_order)
    if obstacle:
        raise Refused(obstacle)
    who = data.gone_to.strip()
    if not who and things_here(work_order):
        raise BadInput("gone_to", who, _("the name of the person who takes the boat home"))
    work_order.cancelled_reason = reason
    work_order.save(update_fields=["cancelled_reason"])
    entries = [
        *end_holds(work_order, by=by),
        *let_go(work_order, who=who, by=by),
        *_moved_all(work_order, Stage.CANCELLED),
    ]
    facts: Payload = {"why": reason}
    told = Entry(verb="cancel visit", record=work_order, facts=facts, work_order=work_order)
    activity.record([*entries, told], by=by)
    return work_order


def _ready_to_go(pk: int, *, gone_to: str) -> WorkOrder:
    work_order = lock_work_order(pk)
    _require_ready(work_order)
    if work_order.told_at is None:
        raise Refused(_("Tell the customer first that the boat is ready, and note how."))
    if not gone_to.strip():
        raise BadInput("gone_to", gone_to, _("the name of the person who took the boat"))
    return work_order


def _close(work_order: WorkOrder, *, gone_to: str, by: Actor) -> WorkOrder:
    # the row must know when it went before its stage says that it is gone
    work_order.gone_at, work_order.gone_to = by.at, gone_to
    work_order.save(update_fields=["gone_at", "gone_to"])
    entries = [
        *end_holds(work_order, by=by),
        *let_go(work_order, who=gone_to, by=by),
        *_moved_all(work_order, Stage.GONE),
    ]
    facts: Payload = {"to": gone_to, "owing_minor": work_order.released_owing_minor}
    verb = "release boat" if work_order.released_by_id is not None else "hand back"
    told = Entry(verb=verb, record=work_order, facts=facts, work_order=work_order)
    activity.record([*entries, told], by=by)
    return work_order


def _moved_all(work_order: WorkOrder, to: Stage) -> list[Entry]:
    jobs = locked(Job.objects.filter(work_order=work_order), of=("self",))
    still_open = jobs.exclude(stage__in=CLOSED_STAGES).order_by("position")
    return [move_job(job, to, work_order=work_order) for job in still_open]


def _words(text: str, *, field: str, accepted: str) -> str:
    words = text.strip()
    if not words or len(words) > LONGEST_REASON:
        raise BadInput(field, words[:40], accepted)
    return words


def _require_ready(work_order: WorkOrder) -> None:
    if work_order.stage != Stage.READY:
        at = Stage(work_order.stage).label
        raise Refused(_("This work order is at “%s”; every job must be ready first.") % at)
    unsaid = Job.objects.filter(work_order=work_order, outcome=Outcome.OPEN).exclude(stage__in=CLOSED_STAGES)
    first = unsaid.order_by("position").first()
    if first is not None:
        raise Refused(_("Job %s has not ended: say first what came of it.") % first.position)


def _require_billed(home: WayHome) -> None:
    if home.is_unbilled:
        raise Refused(_("The work is not billed yet. Issue the invoice first."))
    if home.is_waiting:
        raise Refused(
            _(
                "Logged work is on no bill: it has no price, or nobody agreed to it. Price it, ask the "
                "customer, let the shop pay it, or strike it out."
            )
        )
    if home.lacks_purchase_order:
        raise Refused(_("This customer needs a purchase order number on the work order. Ask for it first."))
