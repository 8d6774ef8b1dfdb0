"""A person's PIN: set at the desk, tried at a tablet; every try is counted before it is looked at."""

from dataclasses import dataclass, field

from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.devices import begin_stay, end_stays_of
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed
from shopapp.calc.errors import BadInput
from shopapp.calc.pins import is_pin, is_weak
from shopapp.models import MOST_PASSWORD_MISSES, MOST_PIN_MISSES, Device, Person, Pin, PinMiss


@dataclass(frozen=True, kw_only=True)
class Tried:
    """What came of a try: a stay, or a sentence. The stay is for the browser's session alone."""

    sentence: str = ""
    stay: str = field(default="", repr=False)


def set_pin(pin: str, *, by: Actor) -> None:
    """The person's own PIN for tablets; it opens again what wrong tries had shut, and ends a stay elsewhere.

    Locks the person's PIN, then the chain head; of two senders the later PIN counts. The hash is made before
    the transaction begins. If the power fails before the commit the old PIN counts. The activity row says
    that it was set, never what it is. Raises NotAllowed away from the desk, BadInput at the field.
    """
    if by.scope != Scope.DESK or by.person is None or not access.may_have_pin(by.person):
        raise NotAllowed(_("A PIN is set at the desk, by the person it belongs to."))
    if not is_pin(pin):
        # the sentence never repeats what was typed
        raise BadInput("pin", "", _("six digits"))
    if is_weak(pin):
        raise BadInput("pin", "", _("six digits that are harder to guess: no run, no repetition"))
    _keep(make_password(pin), person=by.person, by=by)


@transaction.atomic
def _keep(code: str, *, person: Person, by: Actor) -> None:
    Pin.objects.update_or_create(person=person, defaults={"code": code, "set_at": by.at})
    PinMiss.objects.filter(person=person).delete()
    activity.record([Entry(verb="set PIN", record=person)], by=by)


@transaction.atomic
def remove_pin(person_pk: int, *, by: Actor) -> None:
    """Somebody's PIN is gone and what they had open at a tablet ends; they set a new one at the desk.

    For the owner, when a PIN was seen by others. Locks the tablets, the person's PIN, last the chain head; a
    second sender changes nothing. If the power fails, either it is gone and recorded, or it still counts.
    """
    if by.person is None or by.scope != Scope.DESK or not access.may_keep_people(by.person):
        raise NotAllowed(_("Only the owner removes a PIN."))
    end_stays_of(person_pk)
    pin = locked(Pin.objects.filter(person=person_pk)).first()
    if pin is None:
        return
    pin.delete()
    PinMiss.objects.filter(person=person_pk).delete()
    activity.record([Entry(verb="remove PIN", record=Person.objects.get(pk=person_pk))], by=by)


def enter_pin(person: Person, pin: str, *, by: Actor) -> Tried:
    """Begin the person's stay at the tablet that asks, if the PIN is right.

    The try is counted in a transaction of its own before the PIN is looked at, so that guesses sent at once
    are counted as well; it locks the row of person and tablet, and the fifth miss is told in the activity
    chain. From then on the PIN is not even looked at: the password is needed. A right PIN sets the count back
    (see ``begin_stay``, also for a second sender). If the power fails in between, a try was counted that
    nobody saw.
    """
    device = _tablet(by)
    tried = _count_try(person, device, column="misses", most=MOST_PIN_MISSES)
    if tried is None:
        return Tried(sentence=_("Too many wrong PINs here. Give your password instead."))
    kept = Pin.objects.filter(person=person).first()
    if kept is not None and is_pin(pin) and check_password(pin, kept.code):
        return Tried(stay=begin_stay(person, device.pk, by=by))
    if tried == MOST_PIN_MISSES:
        _tell("many wrong PINs", person, tried=tried, by=by)
        return Tried(sentence=_("That was the wrong PIN too often. Give your password instead."))
    return Tried(sentence=_("This is not the PIN of %s. Try again.") % person.name)


def enter_password(person: Person, password: str, *, by: Actor) -> Tried:
    """The same by the password, once the PIN is shut at this tablet; it gives the rights of the bench only.

    Counted, locked and told like a PIN. After as many misses the tablet takes neither from this person, until
    they set a new PIN at the desk.
    """
    device = _tablet(by)
    if not PinMiss.objects.filter(person=person, device=device, misses=MOST_PIN_MISSES).exists():
        return Tried(sentence=_("Give your PIN."))
    tried = _count_try(person, device, column="password_misses", most=MOST_PASSWORD_MISSES)
    if tried is None:
        return Tried(sentence=_("This tablet takes nothing more from you. Set a new PIN at the desk."))
    # a first password from somebody else's hand lets nobody in here
    if person.first_until is None and check_password(password, person.password):
        return Tried(stay=begin_stay(person, device.pk, by=by))
    if tried == MOST_PASSWORD_MISSES:
        _tell("many wrong passwords", person, tried=tried, by=by)
    return Tried(sentence=_("This is not the password of %s. Try again.") % person.name)


@transaction.atomic
def _count_try(person: Person, device: Device, *, column: str, most: int) -> int | None:
    """Which try this is, or ``None`` when there were as many as there may be."""
    PinMiss.objects.bulk_create([PinMiss(person=person, device=device)], ignore_conflicts=True)
    row = locked(PinMiss.objects.filter(person=person, device=device)).get()
    tried: int = getattr(row, column) + 1
    if tried > most:
        return None
    setattr(row, column, tried)
    row.save(update_fields=[column])
    return tried


@transaction.atomic
def _tell(verb: str, person: Person, *, tried: int, by: Actor) -> None:
    facts: Payload = {"tablet": _tablet(by).name, "misses": tried}
    activity.record([Entry(verb=verb, record=person, facts=facts)], by=by)


def _tablet(by: Actor) -> Device:
    if by.device is None:
        raise NotAllowed(_("PINs are for enrolled tablets."))
    return by.device
