"""Fees that come up on a visit: storage, environmental, travel, lift, putting back together."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions.activity import Payload
from shopapp.actions.actor import Actor
from shopapp.actions.actual_book import agreed_line, chargeable, logged, recorded, some
from shopapp.actions.jobs import person_of
from shopapp.actions.refusals import NotAllowed
from shopapp.calc.errors import BadInput
from shopapp.calc.money import from_milli, to_milli
from shopapp.models import FeeEntry, FeeKind, FeeRate, LineKind, QuoteLine, Unit
from shopapp.queries.prices import Frozen, extra_price, fee_price, frozen_from_plan, hand_price


@dataclass(frozen=True, kw_only=True)
class FeeInput:
    """A fee: one of the shop's usual ones (``rate``), a planned one (``line``), or a free one."""

    quantity: Decimal
    rate: int | None = None
    line: int | None = None
    kind: FeeKind = FeeKind.OTHER
    description: str = ""
    unit: Unit = Unit.EACH
    unit_price: Decimal | None = None


@transaction.atomic
def log_fee(job_pk: int, data: FeeInput, *, by: Actor) -> FeeEntry:
    """Log a fee, priced as agreed, as usual, or by the desk; a technician's free fee is priced later.

    Locks the work order, the job, and last the chain head. The key of the form keeps a second sender from
    a second row. If the power fails, the row and its record are there together or not.
    """
    job = chargeable(job_pk, by=by)
    if data.unit_price is not None and not access.may_use_desk(person_of(by)):
        raise NotAllowed(_("Only the desk says what a fee comes to."))
    line = agreed_line(job, data.line, kind=LineKind.FEE)
    rate = _rate(data.rate)
    row = FeeEntry.objects.create(
        **logged(job, line, by=by),
        **_price(data, line=line, rate=rate),
        **_named(data, line=line, rate=rate),
        quantity_milli=some(to_milli(data.quantity, field="quantity")),
    )
    facts: Payload = {
        "fee": row.description,
        "quantity": f"{from_milli(row.quantity_milli)}",
        "unit": row.unit,
    }
    return recorded(row, job, verb="log fee", facts=facts, by=by)


def _rate(pk: int | None) -> FeeRate | None:
    if pk is None:
        return None
    rate = FeeRate.objects.filter(pk=pk).first()
    if rate is None:
        raise BadInput("rate", pk, _("one of the shop's usual fees"))
    return rate


def _price(data: FeeInput, *, line: QuoteLine | None, rate: FeeRate | None) -> Frozen:
    if line is not None:
        return frozen_from_plan(line)
    if data.unit_price is not None:
        return hand_price(data.unit_price)
    return fee_price(rate) if rate is not None else extra_price(None)


def _named(data: FeeInput, *, line: QuoteLine | None, rate: FeeRate | None) -> dict[str, Any]:
    typed = data.description.strip()
    if line is not None:
        return {"kind": data.kind, "description": typed or line.description, "unit": line.unit}
    if rate is not None:
        return {"kind": rate.kind, "description": typed or rate.name, "unit": rate.unit}
    if not typed:
        raise BadInput("description", data.description, _("what the fee is for, or one of the usual fees"))
    return {"kind": data.kind, "description": typed, "unit": data.unit}
