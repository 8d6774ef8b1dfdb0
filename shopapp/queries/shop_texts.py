"""How figures of rows are written for people: the shop's currency, locale and units."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from babel.dates import format_date
from django.utils.translation import gettext as _

from shopapp.calc.money import format_money, format_number, from_e4, from_milli, from_minor, minor_digits
from shopapp.models import Shop, Unit


@dataclass(frozen=True, kw_only=True)
class ShopTexts:
    """Writes stored whole numbers as text, ready to show."""

    currency: str
    locale: str
    time_zone: str

    def exact(self, minor: int) -> Decimal:
        """An amount in minor units as a number."""
        return from_minor(minor, currency=self.currency)

    def money(self, minor: int) -> str:
        """An amount in minor units: "CA$512.50"."""
        return self.amount(self.exact(minor))

    def amount(self, value: Decimal) -> str:
        """An amount with its currency sign."""
        return format_money(value, currency=self.currency, locale=self.locale)

    def coins(self, minor: int) -> str:
        """An amount in minor units without its sign, as a person would type it: "512.50"."""
        value = from_minor(minor, currency=self.currency)
        return format_number(value, locale=self.locale, decimals=minor_digits(self.currency))

    def price(self, e4: int) -> str:
        """A unit price in 1/10,000; never with fewer decimals than the currency has."""
        return self.amount(from_e4(e4))

    def quantity(self, milli: int, unit: str) -> str:
        """A quantity in 1/1,000 with its unit: "1.5 h"."""
        return f"{format_number(from_milli(milli), locale=self.locale)}\u00a0{Unit(unit).label}"

    def percent(self, e6: int) -> str:
        """A share in 1/1,000,000: "9.975 %"."""
        return f"{format_number(Decimal(e6) / 10_000, locale=self.locale)}\u00a0%"

    def day(self, value: date | None) -> str:
        """A day that cannot be misread, such as "25 Nov 2026"; a dash when there is none."""
        return format_date(value, format="d MMM y", locale=self.locale) if value is not None else _("–")

    def day_of(self, moment: datetime) -> str:
        """The shop's day at a moment."""
        return self.day(moment.astimezone(ZoneInfo(self.time_zone)).date())


def texts_of(shop: Shop) -> ShopTexts:
    """The way this shop writes."""
    return ShopTexts(currency=shop.currency, locale=shop.locale, time_zone=shop.time_zone)
