"""Tells at once, when something was logged, that it goes beyond what the customer agreed to."""

from collections.abc import Sequence

from django.contrib import messages
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.calc.agreed import BEYOND
from shopapp.queries.actual_rows import MODELS, AnyRow
from shopapp.queries.over_agreed import beyond_of, over_agreed
from shopapp.web.shared.signed_in import StaffRequest

BOOKS = {model: book for book, model in MODELS.items()}


def flag(request: StaffRequest, written: Sequence[object]) -> None:
    """A warning when the row that was just written waits for a yes: with amounts for the desk alone."""
    for row in written:
        if type(row) in BOOKS:
            _flag(request, row)  # type: ignore[arg-type]  # one of the five rows


def _flag(request: StaffRequest, row: AnyRow) -> None:
    over = over_agreed(row.job.work_order)
    key = (BOOKS[type(row)], row.pk)
    if not any(held.key == key and held.standing in BEYOND for held in over.held):
        return
    if not access.may_use_desk(request.user):
        messages.warning(request, _("This goes beyond what the customer agreed. Tell the desk."))
        return
    told = beyond_of(over)
    messages.warning(
        request,
        _("This goes beyond what the customer agreed: %(over)s above %(authorised)s. It is held back.")
        % {"over": told.over, "authorised": told.authorised},
    )
