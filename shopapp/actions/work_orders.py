"""Work orders: who works on a job, the customer is told that the boat is ready, the boat goes home."""

from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.refusals import Refused
from shopapp.actions.rights import desk_person
from shopapp.actions.stages import lock_work_order, move_job
from shopapp.calc.errors import BadInput
from shopapp.models import (
    CLOSED_STAGES,
    Job,
    JobAssignment,
    Person,
    Stage,
    ToldHow,
    WorkOrder,
)
from shopapp.queries.invoices import billable_lines, owed_minor


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


@transaction.atomic
def assign_technician(job_pk: int, data: AssignInput, *, by: Actor) -> Job:
    """Put a technician on an open job, or take one off.

    Locks the work order, the job, and last the chain head. A second sender changes nothing and leaves no
    second record. If the power fails, the assignment and its record are there together or not.
    """
    desk_person(by)
    work_order = lock_work_order(Job.objects.values_list("work_order_id", flat=True).get(pk=job_pk))
    job = Job.objects.select_for_update().get(pk=job_pk)
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

    Refused unless it is ready, the customer was told, nothing that the customer pays is left to bill, and
    nothing billed is owed. Locks the work order, its jobs, and last the chain head. A second sender is
    refused: the boat is gone. If the power fails, all of it or nothing.
    """
    desk_person(by)
    work_order = lock_work_order(work_order_pk)
    _require_ready(work_order)
    if work_order.told_at is None:
        raise Refused(_("Tell the customer first that the boat is ready, and note how."))
    if not data.gone_to.strip():
        raise BadInput("gone_to", data.gone_to, _("the name of the person who took the boat"))
    _require_settled(work_order)
    # the row must know when it went before its stage says that it is gone
    work_order.gone_at, work_order.gone_to = by.at, data.gone_to
    work_order.save(update_fields=["gone_at", "gone_to"])
    facts: Payload = {"to": data.gone_to}
    entries = [
        *_moved_to_gone(work_order),
        Entry(verb="hand back", record=work_order, facts=facts, work_order=work_order),
    ]
    activity.record(entries, by=by)
    return work_order


def _moved_to_gone(work_order: WorkOrder) -> list[Entry]:
    jobs = Job.objects.select_for_update().filter(work_order=work_order).exclude(stage__in=CLOSED_STAGES)
    return [move_job(job, Stage.GONE, work_order=work_order) for job in jobs.order_by("position")]


def _require_ready(work_order: WorkOrder) -> None:
    if work_order.stage != Stage.READY:
        at = Stage(work_order.stage).label
        raise Refused(_("This work order is at “%s”; every job must be ready first.") % at)


def _require_settled(work_order: WorkOrder) -> None:
    if billable_lines(work_order):
        raise Refused(_("The work is not billed yet. Issue the invoice first."))
    if owed_minor(work_order):
        raise Refused(_("There is still money owed on this work order. Take the payment first."))
