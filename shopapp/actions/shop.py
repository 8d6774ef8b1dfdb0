"""Founding the shop: its name, money, taxes, rates and markup."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from babel import Locale, UnknownLocaleError
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.refusals import Refused
from shopapp.actions.shop_terms import FeeRateInput, TermsInput, new_fee_rate, terms_columns
from shopapp.calc.errors import BadInput
from shopapp.calc.money import minor_digits, to_e4, to_e6
from shopapp.models import KindTax, LabourRate, LineKind, MarkupBand, Shop, TaxCode, TaxRate


@dataclass(frozen=True, kw_only=True)
class TaxInput:
    """A tax code, the kinds of line that take it, and its components as (name, share) in their order."""

    name: str
    kinds: Sequence[str]
    rates: Sequence[tuple[str, Decimal]]
    valid_from: date


@dataclass(frozen=True, kw_only=True)
class FoundingInput:
    """What a shop needs before its first work order. ``markups``: (cost up to, or None, share on cost)."""

    name: str
    address: str
    phone: str
    tax_number: str
    currency: str
    locale: str
    time_zone: str
    paper: str
    consent_text: str
    warranty_terms: str
    labour_rate: Decimal
    taxes: Sequence[TaxInput]
    markups: Sequence[tuple[Decimal | None, Decimal]]
    terms: TermsInput = field(default_factory=TermsInput)
    fees: Sequence[FeeRateInput] = ()


@transaction.atomic
def found_shop(data: FoundingInput, *, by: Actor) -> Shop:
    """Write the shop's settings, once.

    Locks nothing but the chain head: the shop has one row with a fixed id, so of two founders the second is
    refused by the database and gets a sentence. If the power fails before the commit there is no shop.
    Raises BadInput for an unknown currency, locale or time zone, a kind of line without a tax, or a rate of
    more than six decimals.
    """
    _check(data)
    shop = _new_shop(data)
    for tax in data.taxes:
        _write_tax(tax)
    rate = to_e4(data.labour_rate, field="labour rate")
    LabourRate.objects.create(name="Shop labour", sell_rate_e4=rate, is_usual=True)
    for up_to, share in data.markups:
        MarkupBand.objects.create(
            up_to_e4=None if up_to is None else to_e4(up_to, field="markup band"),
            markup_e4=to_e4(share, field="markup"),
        )
    for fee in data.fees:
        new_fee_rate(fee).save(force_insert=True)
    activity.record([Entry(verb="found shop", record=shop, facts={"name": shop.name})], by=by)
    return shop


def _new_shop(data: FoundingInput) -> Shop:
    shop = Shop(
        pk=1,
        name=data.name,
        address=data.address,
        phone=data.phone,
        tax_number=data.tax_number,
        currency=data.currency,
        locale=data.locale,
        time_zone=data.time_zone,
        paper=data.paper,
        consent_text=data.consent_text,
        consent_version="1",
        warranty_terms=data.warranty_terms,
        **terms_columns(data.terms, currency=data.currency),
    )
    try:
        with transaction.atomic():
            shop.save(force_insert=True)
    except IntegrityError:
        # the database alone knows of a shop that is founded in this very moment
        if not Shop.objects.filter(pk=1).exists():
            raise
        raise Refused(_("The shop is there already.")) from None
    return shop


def _check(data: FoundingInput) -> None:
    minor_digits(data.currency)
    try:
        Locale.parse(data.locale)
        ZoneInfo(data.time_zone)
    except (UnknownLocaleError, ValueError) as error:
        raise BadInput("locale", data.locale, _("a language and region such as en_CA")) from error
    except ZoneInfoNotFoundError as error:
        raise BadInput("time zone", data.time_zone, _("a time zone such as America/Vancouver")) from error
    taxed = {kind for tax in data.taxes for kind in tax.kinds}
    missing = sorted(set(LineKind.values) - taxed)
    if missing:
        raise BadInput("taxes", ", ".join(missing), _("a tax code for every kind of line"))


def _write_tax(tax: TaxInput) -> None:
    code = TaxCode.objects.create(name=tax.name)
    for position, (name, share) in enumerate(tax.rates, start=1):
        TaxRate.objects.create(
            tax_code=code,
            name=name,
            rate_e6=to_e6(share, field="tax rate"),
            position=position,
            valid_from_date=tax.valid_from,
        )
    for kind in tax.kinds:
        KindTax.objects.create(kind=kind, tax_code=code)
