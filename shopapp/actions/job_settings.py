"""A job is added to a visit; its engine, price kind, test and payer are set; its cause is named."""

from dataclasses import dataclass

from django.db import transaction
from django.db.models import Max, QuerySet
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity, versions
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.jobs import lock_job, lock_visit_of_own, person_of, require_fitting_test
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.rights import desk_person
from shopapp.actions.stages import least_advanced
from shopapp.calc.errors import BadInput
from shopapp.models import (
    CLOSED_STAGES,
    Engine,
    Job,
    JobAssignment,
    Payer,
    Person,
    PriceKind,
    Stage,
    TestKind,
    WorkOrder,
)
from shopapp.queries.job_rules import is_price_kind_locked, possible_causes

MOST_JOBS = 40


@dataclass(frozen=True, kw_only=True)
class JobInput:
    """One more thing to put right. ``engine`` None: on the boat itself."""

    complaint: str
    engine: int | None = None
    price_kind: PriceKind = PriceKind.FIXED
    test_kind: TestKind = TestKind.WATER
    payer: Payer = Payer.CUSTOMER


@dataclass(frozen=True, kw_only=True)
class SettingsInput:
    """On which engine a job is, how it is billed and to whom, and the test that proves it."""

    engine: int | None
    price_kind: PriceKind
    test_kind: TestKind
    payer: Payer


@dataclass(frozen=True, kw_only=True)
class CauseInput:
    """The earlier job that this one comes from; None: it does not come from one.

    ``is_for_same_cause``: the same trouble again, or another one because of the work; None: not judged yet.
    """

    job: int | None
    is_for_same_cause: bool | None = None


@transaction.atomic
def add_job(work_order_pk: int, data: JobInput, *, by: Actor) -> Job:
    """One more job on an open visit, in diagnosis when others are at work already, else here.

    A technician writes down what more was found and is put on it; how it is billed is the desk's. Locks the
    work order and last the chain head. The key of the form keeps a second sender from a second job. If the
    power fails, the job and its record are there together or not. Raises BadInput, Refused, NotAllowed.
    """
    work_order = _open_visit(work_order_pk, by=by)
    person = person_of(by)
    complaint = data.complaint.strip()
    if not complaint:
        raise BadInput("complaint", data.complaint, _("what is wrong, in a few words"))
    jobs = Job.objects.filter(work_order=work_order)
    if jobs.count() >= MOST_JOBS:
        raise Refused(_("A work order has at most 40 jobs. Open another one for the rest."))
    job = Job.objects.create(
        work_order=work_order,
        position=(jobs.aggregate(last=Max("position"))["last"] or 0) + 1,
        stage=_first_stage(jobs),
        complaint=complaint,
        engine=_engine(work_order, data.engine),
        test_kind=TestKind(data.test_kind),
        **_billing(data, by=by),
    )
    if person.is_technician and not access.may_use_desk(person):
        JobAssignment.objects.create(job=job, person=person)
    _follow(work_order)
    facts: Payload = {"job": job.position, "what": complaint[:80]}
    activity.record([Entry(verb="add job", record=job, facts=facts, work_order=work_order)], by=by)
    return job


@transaction.atomic
def edit_settings(job_pk: int, data: SettingsInput, *, version: int, by: Actor) -> Job:
    """Set engine, price kind, test and payer of an open job if nobody else did since ``version``.

    The price kind is locked while a sent or approved offer names the job, since the customer has it in
    words. Locks the work order, the job, and last the chain head. A second sender with the same version
    gets Stale and writes nothing. If the power fails, all of it or nothing.
    """
    desk_person(by)
    job = lock_job(job_pk, by=by)
    if job.stage in CLOSED_STAGES:
        raise Refused(_("This job is closed; it stays as it is."))
    require_fitting_test(job, data.test_kind)
    if data.price_kind != job.price_kind and is_price_kind_locked(job):
        accepted = _("%s: the customer has it on a quote") % PriceKind(job.price_kind).label
        raise BadInput("price_kind", PriceKind(data.price_kind).label, accepted)
    changes = {
        "engine": _engine(job.work_order, data.engine, kept=job.engine_id),
        "price_kind": PriceKind(data.price_kind),
        "test_kind": TestKind(data.test_kind),
        "payer": Payer(data.payer),
    }
    saved = versions.save_edit(job, version=version, changes=changes)
    facts: Payload = {"job": job.position, "price_kind": saved.price_kind, "test_kind": saved.test_kind}
    entry = Entry(verb="edit job", record=saved, facts=facts, work_order=job.work_order)
    activity.record([entry], by=by)
    return saved


@transaction.atomic
def name_cause(job_pk: int, data: CauseInput, *, version: int, by: Actor) -> Job:
    """Say from which earlier job of the shop's own a job comes, or that it comes from none; the owner's word.

    The cause is a job of another visit of the same boat or engine, or one that is older. Locks the work
    order, the job, and last the chain head. A second sender with the same version gets Stale. If the power
    fails, all of it or nothing.
    """
    if not person_of(by).is_owner:
        raise NotAllowed(_("Only the owner says where a job comes from."))
    job = lock_job(job_pk, by=by)
    cause = _cause(job, data.job)
    is_same = data.is_for_same_cause if cause is not None else None
    changes = {"caused_by_job": cause, "is_for_same_cause": is_same}
    saved = versions.save_edit(job, version=version, changes=changes)
    # kept out of the story of the visit: everybody on it reads that
    facts: Payload = {"cause": cause.pk if cause is not None else None, "same": is_same}
    activity.record([Entry(verb="name cause", record=saved, facts=facts)], by=by)
    return saved


def _open_visit(pk: int, *, by: Actor) -> WorkOrder:
    work_order = lock_visit_of_own(pk, by=by)
    if work_order.stage in CLOSED_STAGES:
        raise Refused(_("This visit is over. Open a new work order for what else is wrong."))
    return work_order


def _billing(data: JobInput, *, by: Actor) -> dict[str, str]:
    person: Person = person_of(by)
    if not access.may_use_desk(person):
        return {}
    return {"price_kind": PriceKind(data.price_kind), "payer": Payer(data.payer)}


def _engine(work_order: WorkOrder, pk: int | None, *, kept: int | None = None) -> Engine | None:
    """An engine that hangs on the boat now, or the one that the job is on already."""
    if pk is None:
        return None
    on_boat = Engine.objects.filter(mountings__vessel=work_order.vessel_id, mountings__until_date=None)
    found = on_boat.filter(pk=pk).first() or (Engine.objects.filter(pk=pk).first() if pk == kept else None)
    if found is None:
        raise BadInput("engine", pk, _("an engine that hangs on this boat, or the boat itself"))
    return found


def _first_stage(jobs: "QuerySet[Job]") -> Stage:
    """What is found while others are at work is looked at already."""
    is_looked_at = jobs.exclude(stage__in=(Stage.BOOKED, Stage.HERE, *CLOSED_STAGES)).exists()
    return Stage.DIAGNOSIS if is_looked_at else Stage.HERE


def _follow(work_order: WorkOrder) -> None:
    """A new job is the least advanced: the visit stands with it, and is not told to be ready any more."""
    stages = list(Job.objects.filter(work_order=work_order).values_list("stage", flat=True))
    work_order.stage, work_order.told_at, work_order.told_how = least_advanced(stages), None, ""
    work_order.save(update_fields=["stage", "told_at", "told_how"])


def _cause(job: Job, pk: int | None) -> Job | None:
    if pk is None:
        return None
    elder = possible_causes(job).filter(pk=pk).first()
    if elder is None:
        raise BadInput("job", pk, _("an earlier job on the same boat or engine"))
    return elder
