"""A row that is wrong is struck out, with the reason; the same for readings, ticks and the used-oil log."""

from django.utils.translation import gettext as _

from shopapp.actions.actor import Actor
from shopapp.calc.errors import BadInput
from shopapp.models import Person
from shopapp.models.struck import Struck

LONGEST_REASON = 200


def strike(row: Struck, person: Person, *, reason: str, by: Actor) -> str:
    """Strike out a (locked) row that stands, and save it; returns the reason as it is kept.

    Runs inside the transaction of the action that locked the row and tells the chain. Raises BadInput without
    a reason.
    """
    said = " ".join(reason.split())[:LONGEST_REASON]
    if not said:
        raise BadInput("reason", reason, _("the reason, in a few words"))
    row.struck_at, row.struck_by_id, row.struck_reason = by.recorded_at, person.pk, said
    row.save(update_fields=["struck_at", "struck_by", "struck_reason"])
    return said
