"""What really happened on a job is logged: a part, hours, a fluid; its cost and price are frozen then."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.jobs import lock_job, person_of, stage_word
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.calc.money import from_milli, to_e4, to_milli
from shopapp.models import (
    FluidCondition,
    FluidEntry,
    Job,
    LineKind,
    PartUsed,
    Person,
    QuoteLine,
    TimeEntry,
    TimeKind,
    Unit,
)
from shopapp.queries.actuals import cost_rate_at
from shopapp.queries.approvals import approved_option
from shopapp.queries.jobs import LOGGED_AT
from shopapp.queries.prices import extra_price, frozen_from_plan, usual_labour_price
from shopapp.queries.shop import local_day, the_shop

MINUTES_A_DAY = 1440


@dataclass(frozen=True, kw_only=True)
class UsePartInput:
    """A part that went in. With ``line`` (an approved plan line) number, name and unit come from there."""

    quantity: Decimal
    description: str = ""
    number: str = ""
    unit: Unit = Unit.EACH
    line: int | None = None
    unit_cost: Decimal | None = None


@dataclass(frozen=True, kw_only=True)
class LogTimeInput:
    """Minutes of a person on the job; nobody named means the person who logs."""

    minutes: int
    kind: TimeKind = TimeKind.REPAIR
    person: int | None = None
    line: int | None = None


@dataclass(frozen=True, kw_only=True)
class LogFluidInput:
    """A fluid drained from and filled into a point; the cost is for one litre."""

    point: str
    product: str = ""
    drained_ml: int = 0
    filled_ml: int = 0
    condition: FluidCondition = FluidCondition.NOT_DRAINED
    line: int | None = None
    unit_cost: Decimal | None = None


@transaction.atomic
def use_part(job_pk: int, data: UsePartInput, *, by: Actor) -> PartUsed:
    """Log a part with its cost and price frozen: from the plan line, or by markup on a cost from the desk.

    Locks the work order, the job, and last the chain head. The key of the form keeps a second sender from
    a second row. If the power fails, the row and its record are there together or not.
    """
    job = _loggable(job_pk, by=by)
    _require_desk_for_cost(data.unit_cost, by=by)
    line = _plan_line(job, data.line, kind=LineKind.PART)
    if line is None and not data.description.strip():
        raise BadInput("description", data.description, _("the name of the part, or its line on the plan"))
    row = PartUsed.objects.create(
        **_logged(job, line, by=by),
        **(frozen_from_plan(line) if line is not None else extra_price(data.unit_cost)),
        number=line.number if line is not None else data.number,
        description=line.description if line is not None else data.description,
        quantity_milli=_some(to_milli(data.quantity, field="quantity")),
        unit=line.unit if line is not None else data.unit,
    )
    facts: Payload = {
        "part": row.description,
        "quantity": f"{from_milli(row.quantity_milli)}",
        "unit": row.unit,
    }
    return _recorded(row, job, verb="use part", facts=facts, by=by)


@transaction.atomic
def log_time(job_pk: int, data: LogTimeInput, *, by: Actor) -> TimeEntry:
    """Log minutes with the person's cost of that day and the price of the plan line or of usual labour.

    A technician logs their own time, the desk anybody's. Locks the work order, the job, and last the chain
    head. The key of the form keeps a second sender from a second row. If the power fails, all or nothing.
    """
    job = _loggable(job_pk, by=by)
    worker = _worker(data.person, by=by)
    if not 0 < data.minutes <= MINUTES_A_DAY:
        raise BadInput("minutes", data.minutes, _("a time above 0 and of at most 24 hours"))
    line = _plan_line(job, data.line, kind=LineKind.LABOUR)
    price = frozen_from_plan(line) if line is not None else usual_labour_price()
    cost = cost_rate_at(worker, day=local_day(the_shop(), by.at))
    row = TimeEntry.objects.create(
        **_logged(job, line, by=by),
        **price | {"unit_cost_e4": cost},
        person=worker,
        kind=data.kind,
        minutes=data.minutes,
    )
    facts: Payload = {"technician": worker.name, "minutes": row.minutes, "kind": row.kind}
    return _recorded(row, job, verb="log time", facts=facts, by=by)


@transaction.atomic
def log_fluid(job_pk: int, data: LogFluidInput, *, by: Actor) -> FluidEntry:
    """Log a fluid; any amount is accepted, also more than fits. Cost and price are those of one litre.

    Locks the work order, the job, and last the chain head. The key of the form keeps a second sender from
    a second row. If the power fails, the row and its record are there together or not.
    """
    job = _loggable(job_pk, by=by)
    _require_desk_for_cost(data.unit_cost, by=by)
    line = _plan_line(job, data.line, kind=LineKind.FLUID)
    _require_sense(data, is_planned=line is not None)
    row = FluidEntry.objects.create(
        **_logged(job, line, by=by),
        **(frozen_from_plan(line) if line is not None else extra_price(data.unit_cost)),
        point=data.point,
        product=data.product or (line.description[:120] if line is not None else ""),
        drained_ml=data.drained_ml,
        filled_ml=data.filled_ml,
        condition=data.condition,
    )
    facts: Payload = {"product": row.product, "drained_ml": row.drained_ml, "filled_ml": row.filled_ml}
    return _recorded(row, job, verb="log fluid", facts=facts, by=by)


def _loggable(job_pk: int, *, by: Actor) -> Job:
    job = lock_job(job_pk, by=by)
    if job.stage not in LOGGED_AT:
        raise Refused(
            _("Parts, hours and fluids are logged from diagnosis to test; this job is at “%s”.")
            % stage_word(job)
        )
    return job


def _plan_line(job: Job, pk: int | None, *, kind: LineKind) -> QuoteLine | None:
    if pk is None:
        return None
    option = approved_option(job)
    line = option.lines.filter(pk=pk, kind=kind).first() if option is not None else None
    if line is None:
        raise BadInput(
            "line", pk, _("a line of this kind from the option that the customer chose for this job")
        )
    return line


def _require_desk_for_cost(cost: Decimal | None, *, by: Actor) -> None:
    if cost is not None and not access.may_use_desk(person_of(by)):
        raise NotAllowed(_("Only the desk enters what a part costs."))
    if cost is not None:
        to_e4(cost, field="unit_cost")


def _some(milli: int) -> int:
    if milli <= 0:
        raise BadInput("quantity", from_milli(milli), _("a number above 0"))
    return milli


def _worker(pk: int | None, *, by: Actor) -> Person:
    logger = person_of(by)
    if pk is None or pk == logger.pk:
        return logger
    if not access.may_use_desk(logger):
        raise NotAllowed(_("You can log your own time only."))
    worker = Person.objects.filter(pk=pk, is_active=True).first()
    if worker is None:
        raise BadInput("person", pk, _("somebody who works here"))
    return worker


def _require_sense(data: LogFluidInput, *, is_planned: bool) -> None:
    if data.drained_ml <= 0 and data.filled_ml <= 0:
        raise BadInput("filled_ml", data.filled_ml, _("what was drained, what was filled, or both"))
    if data.drained_ml > 0 and data.condition == FluidCondition.NOT_DRAINED:
        raise BadInput("condition", data.condition.label, _("what the drained fluid looked like"))
    if not is_planned and not data.product.strip():
        raise BadInput("product", data.product, _("the name of the fluid, or its line on the plan"))


def _logged(job: Job, line: QuoteLine | None, *, by: Actor) -> dict[str, Any]:
    """What every row of the actual book says about itself."""
    return {
        "job": job,
        "plan_line": line,
        "logged_by": person_of(by),
        "happened_at": by.at,
        "recorded_at": by.at,
    }


def _recorded[Row: (PartUsed, TimeEntry, FluidEntry)](
    row: Row, job: Job, *, verb: str, facts: Payload, by: Actor
) -> Row:
    # costs and prices stay out of the feed, which a technician reads
    entry = Entry(verb=verb, record=row, facts={"job": job.position, **facts}, work_order=job.work_order)
    activity.record([entry], by=by)
    return row
