"""Values of a family are taken over from a table, all of them or none."""

from collections.abc import Sequence

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.locks import locked
from shopapp.actions.rights import book_keeper
from shopapp.actions.spec_book import write_value
from shopapp.actions.spec_values import ValueInput
from shopapp.calc.errors import BadInput
from shopapp.models import EngineFamily


@transaction.atomic
def import_values(family_pk: int, rows: Sequence[ValueInput], *, by: Actor) -> int:
    """Write every one of these values into a family; returns how many.

    Locks the family, then the chain head. The key of the form keeps a second sender from writing them
    twice. If the power fails, or one of them can't be written, none of them is there.
    """
    book_keeper(by)
    if not rows:
        raise BadInput("table", "", _("a table with at least one row that can be stored"))
    family = locked(EngineFamily.objects.filter(pk=family_pk)).get()
    written = [write_value(family, data) for data in rows]
    activity.record(
        [Entry(verb="import value", record=row, facts={"what": f"{row}"}) for row in written], by=by
    )
    return len(written)
