"""What the page says once something was logged: it names the thing, so that a slip is seen at once."""

from django.db import models
from django.utils.translation import gettext as _

from shopapp.calc.money import format_number, from_milli
from shopapp.models import (
    FeeEntry,
    FluidEntry,
    Job,
    JobTest,
    PartUsed,
    SubletEntry,
    TestKind,
    TimeEntry,
    Unit,
)


def said(row: models.Model | None, *, locale: str) -> str:
    """A sentence about the row that was written; a plain one when the send was a repeat."""
    if isinstance(row, JobTest):
        return _said_test(row)
    match row:
        case PartUsed() | FeeEntry():
            quantity = format_number(from_milli(row.quantity_milli), locale=locale)
            return _("Logged: %(what)s, %(quantity)s %(unit)s.") % {
                "what": row.description,
                "quantity": quantity,
                "unit": Unit(row.unit).label,
            }
        case TimeEntry():
            hours, minutes = divmod(row.minutes, 60)
            return _("Logged: %(hours)s h %(minutes)s min.") % {"hours": hours, "minutes": minutes}
        case FluidEntry():
            return _("Logged: %(what)s at the %(point)s.") % {"what": row.product, "point": row.point}
        case SubletEntry():
            return _("Logged: %(what)s at %(supplier)s.") % {
                "what": row.description,
                "supplier": row.supplier,
            }
    return _("It is logged.")


def finished(job: Job) -> str:
    """What comes next once the work on a job is done."""
    if job.test_kind == TestKind.NONE:
        return _("The work is finished. The job is ready; it needs no test.")
    return _("The work is finished. Next comes its test.")


def _said_test(row: JobTest) -> str:
    if row.has_passed:
        return _("The test is passed. The job is ready.")
    return _("The test is written down. The job goes back to the bench.")
