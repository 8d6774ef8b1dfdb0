"""What really happened on a job is logged: a part, hours, a fluid; its cost and price are frozen then."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions.activity import Payload
from shopapp.actions.actor import Actor
from shopapp.actions.actual_book import agreed_line, loggable, logged, recorded, require_desk_for_cost, some
from shopapp.actions.jobs import person_of
from shopapp.actions.refusals import NotAllowed
from shopapp.actions.waste import pour_drained
from shopapp.calc.errors import BadInput
from shopapp.calc.money import from_milli, to_milli
from shopapp.models import (
    FluidCondition,
    FluidEntry,
    LineKind,
    Part,
    PartCondition,
    PartUsed,
    Person,
    QuoteLine,
    TimeEntry,
    TimeKind,
    Unit,
)
from shopapp.queries.actuals import cost_rate_at
from shopapp.queries.parts import part_by_number
from shopapp.queries.prices import (
    UNITS_IN_ONE,
    Frozen,
    extra_price,
    frozen_from_plan,
    list_price,
    own_part_price,
    usual_labour_price,
)
from shopapp.queries.shop import local_day, the_shop

MINUTES_A_DAY = 1440


@dataclass(frozen=True, kw_only=True)
class UsePartInput:
    """A part that went in. With ``line`` (an approved plan line) number, name and unit come from there.

    Else a ``number`` of the shop's list brings them, however it is written; else it is what was typed.
    """

    quantity: Decimal
    description: str = ""
    number: str = ""
    unit: Unit = Unit.EACH
    condition: PartCondition | None = None
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
    """A fluid drained from and filled into a point; the cost is for one litre.

    ``container``: the one of the used-oil log into which all went that was drained.
    """

    point: str
    product: str = ""
    drained_ml: int = 0
    filled_ml: int = 0
    condition: FluidCondition = FluidCondition.NOT_DRAINED
    line: int | None = None
    unit_cost: Decimal | None = None
    container: int | None = None


@transaction.atomic
def use_part(job_pk: int, data: UsePartInput, *, by: Actor) -> PartUsed:
    """Log a part with its cost and price frozen: from the plan line, or by markup on a cost from the desk.

    Locks the work order, the job, and last the chain head. The key of the form keeps a second sender from
    a second row. If the power fails, the row and its record are there together or not.
    """
    job = loggable(job_pk, by=by)
    require_desk_for_cost(data.unit_cost, by=by)
    line = agreed_line(job, data.line, kind=LineKind.PART)
    listed = part_by_number(line.number if line is not None else data.number)
    if line is None and listed is None and not data.description.strip():
        raise BadInput(
            "description", data.description, _("the name of the part, its number on the list, or its line")
        )
    row = PartUsed.objects.create(
        **logged(job, line, by=by),
        **_price(data, line=line, listed=listed),
        **_named(data, line=line, listed=listed),
        part=listed,
        quantity_milli=some(to_milli(data.quantity, field="quantity")),
    )
    facts: Payload = {
        "part": row.description,
        "quantity": f"{from_milli(row.quantity_milli)}",
        "unit": row.unit,
    }
    return recorded(row, job, verb="use part", facts=facts, by=by)


@transaction.atomic
def log_time(job_pk: int, data: LogTimeInput, *, by: Actor) -> TimeEntry:
    """Log minutes with the person's cost of that day and the price of the plan line or of usual labour.

    A technician logs their own time, the desk anybody's. Locks the work order, the job, and last the chain
    head. The key of the form keeps a second sender from a second row. If the power fails, all or nothing.
    """
    job = loggable(job_pk, by=by)
    worker = _worker(data.person, by=by)
    if not 0 < data.minutes <= MINUTES_A_DAY:
        raise BadInput("minutes", data.minutes, _("a time above 0 and of at most 24 hours"))
    line = agreed_line(job, data.line, kind=LineKind.LABOUR)
    price = frozen_from_plan(line) if line is not None else usual_labour_price()
    cost = cost_rate_at(worker, day=local_day(the_shop(), by.at))
    row = TimeEntry.objects.create(
        **logged(job, line, by=by),
        **price | {"unit_cost_e4": cost},
        person=worker,
        kind=data.kind,
        minutes=data.minutes,
    )
    facts: Payload = {"technician": worker.name, "minutes": row.minutes, "kind": row.kind}
    return recorded(row, job, verb="log time", facts=facts, by=by)


@transaction.atomic
def log_fluid(job_pk: int, data: LogFluidInput, *, by: Actor) -> FluidEntry:
    """Log a fluid; any amount is accepted, also more than fits. Cost and price are those of one litre.

    What was drained goes into the used-oil log with it, where a container was named. Locks the work order,
    the job, the container, and last the chain head. The key of the form keeps a second sender from a second
    row. If the power fails, the row, what went into the container and the record are there together or not.
    """
    job = loggable(job_pk, by=by)
    require_desk_for_cost(data.unit_cost, by=by)
    line = agreed_line(job, data.line, kind=LineKind.FLUID)
    _require_sense(data, is_planned=line is not None)
    listed = part_by_number(data.product) if line is None else None
    row = FluidEntry.objects.create(
        **logged(job, line, by=by),
        **_fluid_price(data, line=line, listed=listed),
        point=data.point,
        product=_product(data, line=line, listed=listed),
        drained_ml=data.drained_ml,
        filled_ml=data.filled_ml,
        condition=data.condition,
    )
    facts: Payload = {"product": row.product, "drained_ml": row.drained_ml, "filled_ml": row.filled_ml}
    if data.container is not None:
        facts = {**facts, "container": pour_drained(row, data.container, by=by).container.name}
    return recorded(row, job, verb="log fluid", facts=facts, by=by)


def _price(data: UsePartInput, *, line: QuoteLine | None, listed: Part | None) -> Frozen:
    if line is not None:
        return frozen_from_plan(line)
    if data.condition == PartCondition.CUSTOMERS_OWN:
        return own_part_price()
    if data.unit_cost is None and listed is not None:
        return list_price(listed)
    return extra_price(data.unit_cost)


def _named(data: UsePartInput, *, line: QuoteLine | None, listed: Part | None) -> dict[str, Any]:
    """What the part is called: as agreed, else as on the list (a name typed besides wins), else as typed."""
    source = line or listed
    if source is None:
        return {
            "number": data.number,
            "description": data.description,
            "unit": data.unit,
            "condition": data.condition or PartCondition.NEW,
        }
    typed = data.description.strip() if line is None else ""
    return {
        "number": source.number,
        "description": typed or source.description,
        "unit": source.unit,
        "condition": source.condition if line is not None else data.condition or source.condition,
    }


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


def _fluid_price(data: LogFluidInput, *, line: QuoteLine | None, listed: Part | None) -> Frozen:
    if line is not None:
        return frozen_from_plan(line)
    factor = UNITS_IN_ONE[LineKind.FLUID].get(listed.unit) if listed is not None else None
    if data.unit_cost is None and listed is not None and factor is not None:
        return list_price(listed, factor=factor)
    return extra_price(data.unit_cost)


def _product(data: LogFluidInput, *, line: QuoteLine | None, listed: Part | None) -> str:
    if listed is not None:
        return listed.description[:120]
    return data.product or (line.description[:120] if line is not None else "")


def _require_sense(data: LogFluidInput, *, is_planned: bool) -> None:
    if data.drained_ml <= 0 and data.filled_ml <= 0:
        raise BadInput("filled_ml", data.filled_ml, _("what was drained, what was filled, or both"))
    if data.drained_ml > 0 and data.condition == FluidCondition.NOT_DRAINED:
        raise BadInput("condition", data.condition.label, _("what the drained fluid looked like"))
    if not is_planned and not data.product.strip():
        raise BadInput("product", data.product, _("the name of the fluid, or its line on the plan"))
