"""What the page says once something was logged: it names the thing, so that a slip is seen at once."""

from django.db import models
from django.utils.translation import gettext as _

from shopapp.calc.money import format_number, from_milli
from shopapp.models import FluidEntry, JobTest, PartUsed, TimeEntry


def said(row: models.Model | None, *, locale: str) -> str:
    """A sentence about the row that was written; a plain one when the send was a repeat."""
    match row:
        case PartUsed():
            quantity = format_number(from_milli(row.quantity_milli), locale=locale)
            return _("Logged: %(what)s, %(quantity)s %(unit)s.") % {
                "what": row.description,
                "quantity": quantity,
                "unit": row.unit,
            }
        case TimeEntry():
            hours, minutes = divmod(row.minutes, 60)
            return _("Logged: %(hours)s h %(minutes)s min.") % {"hours": hours, "minutes": minutes}
        case FluidEntry():
            return _("Logged: %(what)s at the %(point)s.") % {"what": row.product, "point": row.point}
        case JobTest(has_passed=True):
            return _("The test is passed. The job is ready.")
        case JobTest():
            return _("The test is written down. The job goes back to the bench.")
    return _("It is logged.")
