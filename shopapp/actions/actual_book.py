"""What every log of the actual book shares: whether it may be written, what a row says about itself."""

from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.jobs import lock_job, person_of, stage_word
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.calc.money import from_milli, to_e4
from shopapp.models import (
    FeeEntry,
    FluidEntry,
    Job,
    LineKind,
    PartUsed,
    QuoteLine,
    SubletEntry,
    TimeEntry,
)
from shopapp.queries.approvals import approved_options
from shopapp.queries.jobs import may_charge_on, may_log_on, was_logged_on


def loggable(job_pk: int, *, by: Actor) -> Job:
    """The job, locked after its work order, once parts, hours and fluids may be logged on it."""
    job = lock_job(job_pk, by=by)
    if not may_log_on(job) and not (by.received_at is not None and was_logged_on(job, at=by.at)):
        raise Refused(
            _("Parts, hours and fluids are logged from diagnosis to test; this job is at “%s”.")
            % stage_word(job)
        )
    return job


def chargeable(job_pk: int, *, by: Actor) -> Job:
    """The same for what may come up from arrival until the boat has gone: fees and work bought in."""
    job = lock_job(job_pk, by=by)
    if not may_charge_on(job):
        raise Refused(
            _("Fees and bought-in work are logged while the boat is here; this job is at “%s”.")
            % stage_word(job)
        )
    return job


def agreed_line(job: Job, pk: int | None, *, kind: LineKind) -> QuoteLine | None:
    """The planned line of that kind that a person named, of an option in force, supplements too.

    Raises BadInput for any other line. Two queries; none when nobody named one.
    """
    if pk is None:
        return None
    options = approved_options([job]).get(job.pk, ())
    line = QuoteLine.objects.filter(pk=pk, kind=kind, option__in=options).first()
    if line is None:
        raise BadInput(
            "line", pk, _("a line of this kind from the option that the customer chose for this job")
        )
    return line


def require_desk_for_cost(cost: Decimal | None, *, by: Actor) -> None:
    """What things cost is the desk's to say. Raises NotAllowed, or BadInput for a cost no column holds."""
    if cost is not None and not access.may_use_desk(person_of(by)):
        raise NotAllowed(_("Only the desk enters what a part costs."))
    if cost is not None:
        to_e4(cost, field="unit_cost")


def some(milli: int) -> int:
    """The quantity, once it is above 0."""
    if milli <= 0:
        raise BadInput("quantity", from_milli(milli), _("a number above 0"))
    return milli


def logged(job: Job, line: QuoteLine | None, *, by: Actor) -> dict[str, Any]:
    """What every row says about itself; who pays is as agreed, else as the job says."""
    return {
        "job": job,
        "plan_line": line,
        "payer": line.payer if line is not None else job.payer,
        "logged_by": person_of(by),
        "happened_at": by.at,
        "recorded_at": by.recorded_at,
    }


def recorded[Row: (PartUsed, TimeEntry, FluidEntry, SubletEntry, FeeEntry)](
    row: Row, job: Job, *, verb: str, facts: Payload, by: Actor
) -> Row:
    """Tell the chain of a row; costs and prices stay out of it, since a technician reads the feed."""
    entry = Entry(verb=verb, record=row, facts={"job": job.position, **facts}, work_order=job.work_order)
    activity.record([entry], by=by)
    return row
