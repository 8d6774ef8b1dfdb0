"""People join the shop and leave it; what their hour costs is written down by day."""

from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from django.db import IntegrityError, transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.locks import locked
from shopapp.actions.passwords import FIRST_LASTS
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.sessions import forget_sessions
from shopapp.calc.errors import BadInput
from shopapp.calc.money import to_e4
from shopapp.models import Person, Shop, Wage
from shopapp.queries.shop import local_day

ROLES = ("front_desk", "technician", "owner")


@dataclass(frozen=True, kw_only=True)
class PersonInput:
    """Who joins: sign-in name, name, roles, and (for cost of time) wage an hour and burden as a share.

    Without ``wage_from`` the wage counts from the day of joining. ``is_first``: the password was made for
    the person, who sets their own at the first sign-in.
    """

    username: str
    name: str
    roles: tuple[str, ...]
    password: str = field(repr=False)
    wage: Decimal | None = None
    burden: Decimal = Decimal(0)
    wage_from: date | None = None
    is_first: bool = False


@transaction.atomic
def add_person(data: PersonInput, *, by: Actor) -> Person:
    """Write a person with roles and password.

    Locks nothing but the chain head; the sign-in name is unique, so of two senders the second gets a
    sentence. If the power fails before the commit nobody was added. Neither password nor wage is in the
    activity row. A wage begins on the shop's own day, or on the day in UTC while there is no shop yet.
    """
    if by.person is not None and not by.person.is_owner:
        raise NotAllowed(_("Only the owner takes people in."))
    _check_roles(data.roles)
    person = _new_person(data, by=by)
    if data.wage is not None:
        Wage.objects.create(
            person=person,
            from_date=data.wage_from or _day_at(by),
            hourly_e4=to_e4(data.wage, field="wage"),
            burden_e4=to_e4(data.burden, field="burden"),
        )
    entry = Entry(verb="add person", record=person, facts={"roles": " ".join(data.roles)})
    activity.record([entry], by=by)
    return person


def _check_roles(roles: Collection[str]) -> None:
    unknown = sorted(set(roles) - set(ROLES))
    if unknown or not roles:
        raise BadInput("roles", ", ".join(unknown), _("one or more of %s") % ", ".join(ROLES))


def _role_values(roles: Collection[str]) -> dict[str, bool]:
    return {f"is_{role}": role in roles for role in ROLES}


def _new_person(data: PersonInput, *, by: Actor) -> Person:
    person = Person(
        username=data.username,
        name=data.name,
        **_role_values(data.roles),
        first_until=by.at + FIRST_LASTS if data.is_first else None,
    )
    person.set_password(data.password)
    try:
        with transaction.atomic():
            person.save(force_insert=True)
    except IntegrityError:
        # the database alone knows of somebody who is added in this very moment
        if not Person.objects.filter(username=data.username).exists():
            raise
        taken = _("There is somebody with the sign-in name %s already.") % data.username
        raise Refused(taken) from None
    return person


@transaction.atomic
def change_roles(person_pk: int, roles: Collection[str], *, by: Actor) -> None:
    """Somebody works as something else from now on; they are signed out and come in anew with these rights.

    The owner does it for others, never for themselves, so that an owner always stays. Locks the owners and
    the person in the order of their ids, then the person's sessions and tablets, last the chain head; of two
    owners who take each other's role the second is refused. A second sender changes nothing. If the power
    fails, either the roles are others and that is recorded, or nothing is. What they did and which jobs are
    theirs stays.
    """
    _check_roles(roles)
    person = _locked_by_owner(
        person_pk,
        by=by,
        only=_("Only the owner says what people work as."),
        not_self=_("You cannot change what you work as yourself. Another owner can."),
    )
    before = [role for role in ROLES if getattr(person, f"is_{role}")]
    if set(before) == set(roles):
        return
    values = _role_values(roles)
    for name, value in values.items():
        setattr(person, name, value)
    person.save(update_fields=list(values))
    forget_sessions(person.pk)
    after = " ".join(role for role in ROLES if role in roles)
    facts: Payload = {"before": " ".join(before), "after": after}
    activity.record([Entry(verb="change roles", record=person, facts=facts)], by=by)


@transaction.atomic
def switch_off(person_pk: int, *, by: Actor) -> None:
    """Somebody leaves: no sign-in works any more, and what is open is signed out with its next request.

    What the person did stays. Owners switch off others, never themselves, so that one always stays. Locks the
    owners and the person in the order of their ids, then the person's sessions, last the chain head; of two
    owners who switch each other off the second is refused; a second sender changes nothing.
    """
    person = _let_in_and_out(person_pk, by=by)
    ended = forget_sessions(person.pk)
    if not person.is_active:
        return
    person.is_active = False
    person.save(update_fields=["is_active"])
    activity.record([Entry(verb="switch person off", record=person, facts={"ended": ended})], by=by)


@transaction.atomic
def switch_on(person_pk: int, *, by: Actor) -> None:
    """Somebody comes back, with the password they had. Locks owners and person, last the chain head."""
    person = _let_in_and_out(person_pk, by=by)
    if person.is_active:
        return
    person.is_active = True
    person.save(update_fields=["is_active"])
    activity.record([Entry(verb="switch person on", record=person)], by=by)


def _let_in_and_out(person_pk: int, *, by: Actor) -> Person:
    return _locked_by_owner(
        person_pk,
        by=by,
        only=_("Only the owner lets people in and out."),
        not_self=_("You cannot switch yourself off. Another owner can."),
    )


def _locked_by_owner(person_pk: int, *, by: Actor, only: str, not_self: str) -> Person:
    """The person, locked with all owners: the sender is one at this moment, and is somebody else."""
    rows = locked(Person.objects.filter(Q(is_owner=True) | Q(pk=person_pk)).order_by("pk"))
    people = {row.pk: row for row in rows}
    if by.person is None:
        return people[person_pk]
    sender = people.get(by.person.pk)
    if sender is None or not (sender.is_owner and sender.is_active):
        raise NotAllowed(only)
    if sender.pk == person_pk:
        raise Refused(not_self)
    return people[person_pk]


def _day_at(by: Actor) -> date:
    shop = Shop.objects.filter(pk=1).first()
    return by.at.date() if shop is None else local_day(shop, by.at)
