"""The shop's rules for sums, and the tax treatments in force on a day."""

from collections.abc import Mapping
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Protocol
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from shopapp.calc.errors import BadInput
from shopapp.calc.money import Rounding
from shopapp.calc.tax import DatedComponent, TaxComponent, TaxLevel, TaxTreatment, treatment_at
from shopapp.calc.totals import Rules
from shopapp.models import Customer, KindTax, Shop, TaxCode, TaxRate


def the_shop() -> Shop:
    """The one shop; raises BadInput before it is founded."""
    shop = Shop.objects.filter(pk=1).first()
    if shop is None:
        raise BadInput("shop", "nothing", _("the shop's name, address, currency and tax first"))
    return shop


def rules_of(shop: Shop) -> Rules:
    """How this shop rounds and taxes, for ``calc.totals``."""
    return Rules(
        currency=shop.currency,
        rounding=Rounding(shop.rounding),
        tax_level=TaxLevel(shop.tax_level),
        prices_include_tax=shop.prices_include_tax,
    )


class InItsZone(Protocol):
    """Whatever knows the shop's time zone: its row, or what is kept of it for showing things."""

    @property
    def time_zone(self) -> str:
        """A name such as America/Vancouver."""


def local_day(shop: InItsZone, moment: datetime) -> date:
    """The shop's day at a moment."""
    return moment.astimezone(ZoneInfo(shop.time_zone)).date()


def end_of_day(shop: InItsZone, day: date) -> datetime:
    """The moment at which the shop's day is over."""
    return datetime.combine(day + timedelta(days=1), time.min, tzinfo=ZoneInfo(shop.time_zone))


def treatments_at(day: date, *, customer: Customer | None = None) -> Mapping[int, TaxTreatment]:
    """Tax code id → treatment on that day; two queries. An exempt customer's lines are all exempt."""
    codes = TaxCode.objects.prefetch_related("rates")
    if customer is not None and customer.is_tax_exempt:
        reason = " ".join(filter(None, [customer.exemption_reason, customer.exemption_number]))
        return {
            code.pk: TaxTreatment(code=code.name, category="E", components=(), exemption_reason=reason)
            for code in codes
        }
    return {code.pk: _treatment(code, day) for code in codes}


def _treatment(code: TaxCode, day: date) -> TaxTreatment:
    rates = sorted(code.rates.all(), key=lambda rate: rate.position)
    return treatment_at(
        [_dated(rate) for rate in rates],
        on=day,
        code=code.name,
        category=code.category,
        exemption_reason=code.exemption_reason,
    )


def _dated(rate: TaxRate) -> DatedComponent:
    return DatedComponent(
        component=TaxComponent(
            name=rate.name, rate=Decimal(rate.rate_e6) / 1_000_000, compounds=rate.compounds
        ),
        valid_from=rate.valid_from_date,
        valid_until=rate.valid_until_date,
    )


def tax_code_of_kind(kind: str) -> int:
    """Id of the tax code that a kind of line takes; raises BadInput when the shop has not set one."""
    row = KindTax.objects.filter(kind=kind).first()
    if row is None:
        raise BadInput("kind", kind, _("a kind of line that has a tax code in the shop's settings"))
    return row.tax_code_id
