"""Work bought in from another shop: who does it, what, when it is due back, and what it cost."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.actual_book import agreed_line, chargeable, logged, recorded, require_desk_for_cost
from shopapp.actions.jobs import lock_job
from shopapp.actions.locks import locked
from shopapp.actions.refusals import Refused
from shopapp.calc.errors import BadInput
from shopapp.models import LineKind, SubletEntry
from shopapp.queries.prices import extra_price, frozen_from_plan


@dataclass(frozen=True, kw_only=True)
class SubletInput:
    """Work bought in; the cost is for the whole of it and may come later, with the bill."""

    supplier: str
    description: str = ""
    due_back_date: date | None = None
    line: int | None = None
    unit_cost: Decimal | None = None


@transaction.atomic
def log_sublet(job_pk: int, data: SubletInput, *, by: Actor) -> SubletEntry:
    """Log what went out to another shop; priced as agreed, or by markup on a cost from the desk.

    Locks the work order, the job, and last the chain head. The key of the form keeps a second sender from
    a second row. If the power fails, the row and its record are there together or not.
    """
    job = chargeable(job_pk, by=by)
    require_desk_for_cost(data.unit_cost, by=by)
    line = agreed_line(job, data.line, kind=LineKind.SUBLET)
    if not data.supplier.strip():
        raise BadInput("supplier", data.supplier, _("the name of the shop that does the work"))
    if line is None and not data.description.strip():
        raise BadInput("description", data.description, _("what is done there, or its line on the plan"))
    row = SubletEntry.objects.create(
        **logged(job, line, by=by),
        **(frozen_from_plan(line) if line is not None else extra_price(data.unit_cost)),
        supplier=data.supplier,
        description=data.description.strip() or (line.description if line is not None else ""),
        due_back_date=data.due_back_date,
    )
    facts: Payload = {"supplier": row.supplier, "what": row.description}
    return recorded(row, job, verb="log sublet", facts=facts, by=by)


@transaction.atomic
def take_back_sublet(pk: int, *, by: Actor) -> SubletEntry:
    """What went out is back in the shop.

    Locks the work order, the job, the row, and last the chain head. A second sender gets the same row and
    leaves no second trace. If the power fails, both are there or neither.
    """
    job = lock_job(SubletEntry.objects.values_list("job_id", flat=True).get(pk=pk), by=by)
    row = locked(SubletEntry.objects.filter(pk=pk)).get()
    if row.struck_at is not None:
        raise Refused(_("This row is struck out."))
    if row.back_at is not None:
        return row
    row.back_at = by.at
    row.save(update_fields=["back_at"])
    facts: Payload = {"job": job.position, "supplier": row.supplier, "what": row.description}
    entry = Entry(verb="take back sublet", record=row, facts=facts, work_order=job.work_order)
    activity.record([entry], by=by)
    return row
