"""What every template may use: how the shop writes money, numbers and days."""

from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from babel.dates import format_date, format_datetime
from django.http import HttpRequest

from shopapp.models import Shop


@dataclass(frozen=True, kw_only=True)
class Display:
    """Frozen choices of the shop for showing things."""

    shop_name: str
    currency: str
    locale: str
    time_zone: str

    def day(self, value: date) -> str:
        """A day that cannot be misread, such as "25 Nov 2026"."""
        return format_date(value, format="d MMM y", locale=self.locale)

    def moment(self, value: datetime) -> str:
        """A moment in the shop's own time."""
        local = value.astimezone(ZoneInfo(self.time_zone))
        return format_datetime(local, format="d MMM y, HH:mm", locale=self.locale)


BEFORE_FOUNDING = Display(shop_name="Shopapp", currency="EUR", locale="en", time_zone="UTC")


def display_for(shop: Shop | None) -> Display:
    """The display choices of a shop, or plain ones before there is a shop."""
    if shop is None:
        return BEFORE_FOUNDING
    return Display(shop_name=shop.name, currency=shop.currency, locale=shop.locale, time_zone=shop.time_zone)


def display(request: HttpRequest) -> dict[str, Display]:
    """Context processor: ``display``. The shop's row is read once a request."""
    kept: Display | None = getattr(request, "display", None)
    if kept is None:
        kept = display_for(Shop.objects.filter(pk=1).first())
        request.display = kept  # type: ignore[attr-defined]
    return {"display": kept}


def locale_of(request: HttpRequest) -> str:
    """How the shop writes numbers and days; the shop's row is read once a request."""
    return display(request)["display"].locale
