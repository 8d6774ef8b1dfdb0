"""The terms on which the shop takes boats in and bills: usual fees and limits, and the words people sign."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity, versions
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.bounds import amount_minor, require_within
from shopapp.actions.changes import changed, told
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.calc.money import to_e4
from shopapp.models import FeeCredit, FeeKind, FeeRate, Shop, Unit

LONGEST_LATELY = 120
LONGEST_FREE_DAYS = 365
LONGEST_KEPT = 30


@dataclass(frozen=True, kw_only=True)
class TermsInput:
    """Usual figures in the shop's currency, without tax, and the words. ``over_agreed``: a share up to 1."""

    diagnosis_fee: Decimal = Decimal(0)
    fee_credit: str = FeeCredit.GOES_AHEAD
    spending_limit: Decimal = Decimal(0)
    limit_comes_on_top: bool = False
    minimum_charge: Decimal = Decimal(0)
    over_agreed: Decimal = Decimal(0)
    offers_parts_back: bool = True
    lately_months: int = 12
    invoice_keep_years: int = 10
    intake_text: str = ""
    storage_terms: str = ""
    storage_free_days: int = 0
    teardown_terms: str = ""
    own_parts_text: str = ""


@dataclass(frozen=True, kw_only=True)
class FeeRateInput:
    """What the shop usually asks for a fee."""

    name: str
    kind: str
    unit: str
    unit_price: Decimal


@transaction.atomic
def edit_terms(data: TermsInput, *, version: int, by: Actor) -> Shop:
    """Write the shop's terms if nobody else did since ``version``; what was signed before stays as signed.

    Locks the shop's row, then the chain head. A second sender with the same version gets Stale and writes
    nothing; an edit that changes nothing leaves no trace. If the power fails before the commit the terms are
    as before. Raises NotAllowed for anybody but the owner, BadInput at the field.
    """
    require_owner(by)
    row = locked(Shop.objects.filter(pk=1)).get()
    changes = changed(row, terms_columns(data, currency=row.currency))
    if not changes:
        return row
    facts = told(row, changes)
    saved = versions.save_edit(row, version=version, changes=changes)
    activity.record([Entry(verb="edit terms", record=saved, facts=facts)], by=by)
    return saved


@transaction.atomic
def add_fee_rate(data: FeeRateInput, *, by: Actor) -> FeeRate:
    """One more fee that the shop asks.

    Locks nothing but the chain head: the name is unique, so of two senders of one name the second is
    refused by the database and gets a sentence. If the power fails, the fee and its record are there
    together or not. Raises NotAllowed for anybody but the owner, BadInput at the field.
    """
    require_owner(by)
    row = new_fee_rate(data)
    try:
        with transaction.atomic():
            row.save(force_insert=True)
    except IntegrityError:
        raise BadInput("name", data.name, _("a name that no other fee has")) from None
    activity.record([Entry(verb="add fee", record=row, facts={"fee": row.name})], by=by)
    return row


@transaction.atomic
def remove_fee_rate(pk: int, *, by: Actor) -> Shop:
    """Take a fee off the list; what was charged by it stays charged.

    Locks the fee, then the chain head; a second sender is refused. If the power fails, all of it or nothing.
    """
    require_owner(by)
    row = locked(FeeRate.objects.filter(pk=pk)).first()
    if row is None:
        raise Refused(_("Somebody removed this a moment ago."))
    name = row.name
    row.delete()
    shop = Shop.objects.get(pk=1)
    activity.record([Entry(verb="remove fee", record=shop, facts={"fee": name})], by=by)
    return shop


def require_owner(by: Actor) -> None:
    """Raises NotAllowed for anybody who may not set the shop's terms."""
    if by.person is None or not access.may_set_terms(by.person):
        raise NotAllowed(_("Only the owner sets the shop's terms."))


def terms_columns(data: TermsInput, *, currency: str) -> dict[str, Any]:
    """The shop's columns that hold these terms. Raises BadInput at the field."""
    if data.fee_credit not in FeeCredit.values:
        raise BadInput("fee_credit", data.fee_credit, ", ".join(FeeCredit.values))
    if not 0 <= data.over_agreed <= 1:
        raise BadInput("over_agreed", data.over_agreed, _("a share from 0 to 1"))
    require_within("lately_months", data.lately_months, most=LONGEST_LATELY)
    require_within("storage_free_days", data.storage_free_days, most=LONGEST_FREE_DAYS)
    require_within("invoice_keep_years", data.invoice_keep_years, most=LONGEST_KEPT)
    amounts = ("diagnosis_fee", "spending_limit", "minimum_charge")
    minor = {f"{name}_minor": amount_minor(name, getattr(data, name), currency=currency) for name in amounts}
    kept = (
        "fee_credit",
        "limit_comes_on_top",
        "offers_parts_back",
        "lately_months",
        "invoice_keep_years",
        "intake_text",
        "storage_terms",
        "storage_free_days",
        "teardown_terms",
        "own_parts_text",
    )
    values = {name: getattr(data, name) for name in kept}
    return minor | values | {"over_agreed_e4": to_e4(data.over_agreed, field="over_agreed")}


def new_fee_rate(data: FeeRateInput) -> FeeRate:
    """A fee that is not saved yet. Raises BadInput at the field."""
    _check_fee(data)
    price = to_e4(data.unit_price, field="unit_price")
    return FeeRate(name=data.name.strip(), kind=data.kind, unit=data.unit, unit_price_e4=price)


def _check_fee(data: FeeRateInput) -> None:
    if not data.name.strip():
        raise BadInput("name", data.name, _("what the fee is called"))
    if data.kind not in FeeKind.values:
        raise BadInput("kind", data.kind, ", ".join(FeeKind.values))
    if data.unit not in Unit.values:
        raise BadInput("unit", data.unit, ", ".join(Unit.values))
    if data.unit_price < 0:
        raise BadInput("unit_price", data.unit_price, _("0 or more"))
