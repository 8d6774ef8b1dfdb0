"""What was written down when a boat arrived, put right; and the day it is promised for, moved."""

from dataclasses import dataclass
from datetime import date

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity, versions
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.arrivals import require_fuel, require_promise
from shopapp.actions.changes import changed, told
from shopapp.actions.refusals import Refused
from shopapp.actions.rights import desk_person
from shopapp.actions.stages import lock_work_order
from shopapp.models import CLOSED_STAGES, WorkOrder
from shopapp.queries.shop import local_day, the_shop


@dataclass(frozen=True, kw_only=True)
class ArrivalFactsInput:
    """The promise, and how the boat came; where it and its things are now is the custody log's matter."""

    promised_date: date | None
    fuel: str
    keys_tag: str
    trailer: str
    loose_gear: str
    arrival_state: str


@transaction.atomic
def edit_arrival(work_order_pk: int, data: ArrivalFactsInput, *, version: int, by: Actor) -> WorkOrder:
    """Save what the desk changed; a sheet that was signed keeps saying what it said.

    Locks the work order, last the chain head. A second sender with the same version gets Stale and writes
    nothing; an edit that changes nothing leaves no trace. If the power fails before the commit everything
    is as before. Raises BadInput for a day in the past, Refused once the visit is over.
    """
    desk_person(by)
    work_order = lock_work_order(work_order_pk)
    if work_order.stage in CLOSED_STAGES:
        raise Refused(_("This visit is over; what was written down stays as it is."))
    changes = changed(work_order, _values(data))
    if not changes:
        return work_order
    if "promised_date" in changes:
        require_promise(data.promised_date, today=local_day(the_shop(), by.at))
    require_fuel(data.fuel)
    saved = versions.save_edit(work_order, version=version, changes=changes)
    facts = told(work_order, changes)
    activity.record([Entry(verb="edit arrival", record=saved, facts=facts, work_order=saved)], by=by)
    return saved


def _values(data: ArrivalFactsInput) -> dict[str, date | str | None]:
    texts = ("fuel", "keys_tag", "trailer", "loose_gear", "arrival_state")
    return {name: getattr(data, name).strip() for name in texts} | {"promised_date": data.promised_date}
