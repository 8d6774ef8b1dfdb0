"""Rows of the actual book are put right: struck out, tied to the plan, priced, given to another payer.

A row keeps what was logged; a mistake stays readable and counts no more. What is billed stays as it is.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import models, transaction
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.actual_book import agreed_line
from shopapp.actions.jobs import lock_job, person_of
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.rights import desk_person
from shopapp.calc.errors import BadInput
from shopapp.models import BilledSource, Job, Payer, Person
from shopapp.queries.actual_rows import KINDS, MODELS, AnyRow, RowKey, price_off_plan, row_words
from shopapp.queries.prices import extra_price, frozen_from_plan, hand_price


@dataclass(frozen=True, kw_only=True)
class PriceInput:
    """What one costs, what it sells for, or both; with a cost alone the shop's markup gives the price."""

    unit_cost: Decimal | None = None
    unit_price: Decimal | None = None


@dataclass(frozen=True, kw_only=True)
class PayerInput:
    """Who pays a row, and why it is not the customer."""

    payer: Payer
    reason: str = ""


@dataclass(frozen=True, kw_only=True)
class _Held:
    """A row with its job, both locked, and who works on it."""

    row: AnyRow
    job: Job
    key: RowKey
    person: Person


@transaction.atomic
def strike_row(key: RowKey, *, reason: str, by: Actor) -> AnyRow:
    """Strike out a row that is wrong; it stays readable and counts nowhere.

    A technician strikes what they logged, the desk anything. Locks the work order, the job, the row, and
    last the chain head. A second sender gets the struck row and leaves no second trace. If the power fails,
    all of it or nothing. Raises Refused once the row is billed.
    """
    held = _held(key, by=by)
    is_own = held.row.logged_by_id == held.person.pk or access.may_use_desk(held.person)
    if held.row.struck_at is None and not is_own:
        raise NotAllowed(_("You can strike out what you logged yourself. Ask the desk for other rows."))
    return _struck(held, reason=reason, by=by)


@transaction.atomic
def withdraw_row(key: RowKey, *, reason: str, by: Actor) -> AnyRow:
    """Strike out a row that followed from something else and follows no more, whoever logged it.

    For actions that write such rows, like the clock. Locks, second sender and power cut as ``strike_row``.
    """
    return _struck(_held(key, by=by), reason=reason, by=by)


def _struck(held: _Held, *, reason: str, by: Actor) -> AnyRow:
    if held.row.struck_at is not None:
        return held.row
    _require_changeable(held)
    said = _said(reason, field="reason")
    changes = {"struck_at": by.at, "struck_by": held.person, "struck_reason": said}
    return _changed(held, changes, verb="strike row", facts={"why": said}, by=by)


@transaction.atomic
def link_row(key: RowKey, *, line: int | None, by: Actor) -> AnyRow:
    """Say which planned line a row fulfils, or that it is extra; its price and payer follow from that.

    Locks, second sender and power cut as ``strike_row``; a second sender with the same line changes nothing.
    """
    held = _held(key, by=by)
    _require_changeable(held)
    planned = agreed_line(held.job, line, kind=KINDS[key[0]])
    if held.row.plan_line_id == line:
        return held.row
    price = frozen_from_plan(planned) if planned is not None else price_off_plan(held.row)
    if held.row.unit_cost_e4 is not None:
        # what it cost is known from when it was logged, or from the bill
        price["unit_cost_e4"] = held.row.unit_cost_e4
    payer = planned.payer if planned is not None else held.job.payer
    changes = {**price, "plan_line": planned, "payer": payer, "payer_reason": ""}
    return _changed(held, changes, verb="link row", facts={"is_planned": planned is not None}, by=by)


@transaction.atomic
def price_row(key: RowKey, data: PriceInput, *, by: Actor) -> AnyRow:
    """Price an extra row: by markup on its cost, or as the desk says. Planned rows keep the agreed price.

    Locks, second sender and power cut as ``strike_row``; a second sender writes the same figures again.
    """
    held = _held(key, by=by)
    desk_person(by)
    _require_changeable(held)
    if held.row.plan_line_id is not None and held.row.unit_price_e4 is not None:
        raise Refused(_("This row has the price that was agreed. Take it off the plan first."))
    if data.unit_cost is None and data.unit_price is None:
        raise BadInput("unit_price", "", _("what one costs the shop, or what it sells for"))
    price = extra_price(data.unit_cost) if data.unit_cost is not None else extra_price(None)
    cost_e4 = price["unit_cost_e4"] if data.unit_cost is not None else held.row.unit_cost_e4
    if data.unit_price is not None:
        price = hand_price(data.unit_price, cost_e4=cost_e4)
    return _changed(held, {**price}, verb="price row", facts={}, by=by)


@transaction.atomic
def set_payer(key: RowKey, data: PayerInput, *, by: Actor) -> AnyRow:
    """Say who pays a row; goodwill and a maker's warranty need a reason.

    Locks, second sender and power cut as ``strike_row``; a second sender writes the same again.
    """
    held = _held(key, by=by)
    desk_person(by)
    _require_changeable(held)
    reason = "" if data.payer == Payer.CUSTOMER else _said(data.reason, field="payer_reason")
    facts: Payload = {"payer": data.payer.value, "why": reason}
    changes = {"payer": data.payer, "payer_reason": reason}
    return _changed(held, changes, verb="set payer", facts=facts, by=by)


@transaction.atomic
def override_row(key: RowKey, *, is_on: bool, reason: str, by: Actor) -> AnyRow:
    """The owner takes it on themselves to bill what nobody agreed to, or takes that back.

    Locks, second sender and power cut as ``strike_row``; a second sender writes the same again.
    """
    held = _held(key, by=by)
    if not held.person.is_owner:
        raise NotAllowed(_("Only the owner may bill what the customer did not agree to."))
    _require_changeable(held)
    said = _said(reason, field="override_reason") if is_on else ""
    changes = {"override_by": held.person if is_on else None, "override_reason": said}
    facts: Payload = {"is_on": is_on, "why": said}
    return _changed(held, changes, verb="override row", facts=facts, by=by)


def _held(key: RowKey, *, by: Actor) -> _Held:
    book, pk = key
    model = MODELS[book]
    job = lock_job(model._default_manager.values_list("job_id", flat=True).get(pk=pk), by=by)
    row: Any = locked(model._default_manager.filter(pk=pk)).get()
    return _Held(row=row, job=job, key=key, person=person_of(by))


def _require_changeable(held: _Held) -> None:
    if held.row.struck_at is not None:
        raise Refused(_("This row is struck out and stays as it is."))
    claims = BilledSource.objects.filter(**{held.key[0]: held.row.pk}, line__invoice__issued_at__isnull=False)
    if claims.exists():
        raise Refused(_("This row is on an issued invoice. A credit note takes it back first."))


def _said(text: str, *, field: str) -> str:
    said = " ".join(text.split())
    if not said:
        raise BadInput(field, text, _("the reason, in a few words"))
    return said[:200]


def _changed(held: _Held, changes: dict[str, Any], *, verb: str, facts: Payload, by: Actor) -> AnyRow:
    """Write the columns and tell the chain: words, never amounts."""
    for name, value in changes.items():
        setattr(held.row, name, value)
    row: models.Model = held.row
    row.save(update_fields=list(changes))
    told: Payload = {"job": held.job.position, "what": row_words(held.row), **facts}
    activity.record([Entry(verb=verb, record=row, facts=told, work_order=held.job.work_order)], by=by)
    return held.row
