"""What an hour of a person costs the shop from a day on: written by the owner, and never told elsewhere."""

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed
from shopapp.calc.errors import BadInput
from shopapp.calc.money import to_e4
from shopapp.models import Person, Wage

MOST_HOURLY = Decimal(100_000)
MOST_BURDEN = Decimal(5)


@dataclass(frozen=True, kw_only=True)
class WageInput:
    """From which day on, the wage of an hour, and the burden on top of it as a share."""

    from_date: date
    hourly: Decimal = field(repr=False)
    burden: Decimal = field(default=Decimal(0), repr=False)


@transaction.atomic
def set_wage(person_pk: int, data: WageInput, *, by: Actor) -> Wage:
    """What an hour of the person costs from a day on; a second figure for the same day replaces the first.

    Time that was logged keeps the cost that it froze. Locks the person, then the chain head; a second sender
    writes the same once more. If the power fails, either the wage and its record are there or nothing. The
    record holds the day and no figure. Raises NotAllowed, BadInput (``hourly``, ``burden``).
    """
    if by.person is None or not access.may_see_costs(by.person):
        raise NotAllowed(_("Wages are the owner's to see and to say."))
    values = _values(data)
    person = locked(Person.objects.filter(pk=person_pk)).get()
    wage, _is_new = Wage.objects.update_or_create(person=person, from_date=data.from_date, defaults=values)
    facts = {"from": data.from_date.isoformat()}
    activity.record([Entry(verb="set wage", record=person, facts=facts)], by=by)
    return wage


def _values(data: WageInput) -> dict[str, int]:
    if not 0 <= data.hourly <= MOST_HOURLY:
        raise BadInput("hourly", data.hourly, _("an amount from 0 to 100,000"))
    if not 0 <= data.burden <= MOST_BURDEN:
        raise BadInput("burden", data.burden, _("a share from 0 to 5"))
    return {
        "hourly_e4": to_e4(data.hourly, field="hourly"),
        "burden_e4": to_e4(data.burden, field="burden"),
    }
