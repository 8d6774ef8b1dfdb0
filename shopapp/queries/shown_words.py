"""How days, times and warranties read on a quote."""

from datetime import date

from babel.dates import format_date
from django.utils.translation import gettext as _
from django.utils.translation import ngettext


def day_words(day: date, *, locale: str) -> str:
    """A day that cannot be misread, such as "2 Jun 2026"."""
    return format_date(day, format="d MMM y", locale=locale)


def warranty_words(months: int, covers: str) -> str:
    """For example: 12 months: the unit and its refit."""
    if not months:
        return _("none")
    time = ngettext("%(months)d month", "%(months)d months", months) % {"months": months}
    return f"{time}: {covers}" if covers else time


def days_words(days: int) -> str:
    """How long the boat stays."""
    return ngettext("%(days)d day", "%(days)d days", days) % {"days": days}
