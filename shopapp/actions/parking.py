"""Puts a half-written form aside for the person who writes it. It is their own scratch paper and no book of
the shop, so the activity chain knows nothing of it."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions.actor import Actor
from shopapp.actions.locks import locked
from shopapp.actions.refusals import Refused
from shopapp.actions.rights import desk_person
from shopapp.calc.errors import BadInput
from shopapp.models import ParkedForm, Person
from shopapp.queries.parked import MOST_PARKED

LONGEST_TITLE, LONGEST_PATH, LONGEST_FORM = 120, 500, 60
MOST_FIELDS, MOST_CHARACTERS = 500, 200_000
type Field = tuple[str, str]


@dataclass(frozen=True, kw_only=True)
class ParkInput:
    """A form as it was left: its page, which form of the page, what stood in its fields, in their order.

    ``replaces``: the parked form it was before, when one is put aside again.
    """

    title: str
    path: str
    form: str
    fields: Sequence[Field]
    replaces: int | None = None


@transaction.atomic
def park_form(data: ParkInput, *, by: Actor) -> ParkedForm:
    """Put a form aside for the actor alone.

    Locks the person, so that two sends at once can't pass the limit. If the power fails before the commit
    the form is still on the screen. Raises BadInput for more than a form can hold, Refused when too many are
    put aside already.
    """
    person = desk_person(by)
    _check(data)
    locked(Person.objects.filter(pk=person.pk)).get()
    mine = ParkedForm.objects.filter(person=person)
    before = mine.filter(pk=data.replaces).first() if data.replaces is not None else None
    row = before or ParkedForm(person=person)
    if row.pk is None and mine.count() >= MOST_PARKED:
        raise Refused(
            _("You have put aside %s forms already. Finish or throw away some of them.") % MOST_PARKED
        )
    row.title, row.path, row.form = data.title[:LONGEST_TITLE], data.path, data.form
    row.fields, row.parked_at = [list(field) for field in data.fields], by.at
    row.save()
    return row


def _check(data: ParkInput) -> None:
    size = sum(len(name) + len(value) for name, value in data.fields)
    if len(data.fields) > MOST_FIELDS or size > MOST_CHARACTERS:
        accepted = _("at most %(fields)s fields with %(characters)s characters together")
        raise BadInput("fields", size, accepted % {"fields": MOST_FIELDS, "characters": MOST_CHARACTERS})
    if not data.path.startswith("/") or data.path.startswith("//") or len(data.path) > LONGEST_PATH:
        raise BadInput("path", data.path, _("the address of a page of the shop"))
    if not data.title.strip() or len(data.form) > LONGEST_FORM:
        raise BadInput("title", data.title, _("the heading of the page"))


@transaction.atomic
def discard_parked(pk: int, *, by: Actor) -> None:
    """Throw a parked form of the actor's away. A second sender, or anybody else's form, changes nothing."""
    forget_parked(pk, by=by)


def forget_parked(pk: int, *, by: Actor) -> None:
    """The form was sent, so it waits no more; inside the transaction of what was sent."""
    if by.person is not None:
        ParkedForm.objects.filter(person=by.person, pk=pk).delete()
