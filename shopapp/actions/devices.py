"""Tablets are enrolled and ended by the owner; a person's stay at one begins, is locked and is over."""

import secrets
from dataclasses import dataclass
from datetime import timedelta

from django.db import models, transaction
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.models import LEAST_LOCK_MINUTES, MOST_LOCK_MINUTES, Device, Person, PinMiss
from shopapp.queries.links import token_digest

TOKEN_BYTES = 32
# a touch is written at most so often, so that reading pages does not write
TOUCH_EVERY = timedelta(minutes=1)
_NOBODY = {"person": None, "stay_sha256": "", "opened_at": None, "touched_at": None}


@dataclass(frozen=True, kw_only=True)
class DeviceInput:
    """What a tablet is called, after how many minutes without a touch it locks, and which one it replaces."""

    name: str
    lock_minutes: int = 12
    replaces: int | None = None


@transaction.atomic
def enrol_device(data: DeviceInput, *, by: Actor) -> tuple[Device, str]:
    """Enrol a tablet; the token is returned once, for the tablet's own cookie, and only its hash is kept.

    Locks the tablet that is replaced, if any, then the chain head. A second send enrols a second tablet,
    which the owner sees in the list and ends: the answer can't be stored, since it holds the token. If the
    power fails before the commit nothing is enrolled. Raises NotAllowed for anybody but the owner.
    """
    owner = _owner(by)
    _check(data)
    if data.replaces is not None:
        _end(locked(Device.objects.filter(pk=data.replaces, ended_at=None)).first(), by=by)
    token = secrets.token_urlsafe(TOKEN_BYTES)
    row = Device.objects.create(
        name=data.name.strip(),
        token_sha256=token_digest(token),
        enrolled_by=owner,
        enrolled_at=by.at,
        seen_at=by.at,
        lock_minutes=data.lock_minutes,
    )
    facts: Payload = {"tablet": row.name, "lock_minutes": row.lock_minutes, "replaces": data.replaces}
    activity.record([Entry(verb="enrol tablet", record=row, facts=facts)], by=by)
    return row, token


@transaction.atomic
def end_device(pk: int, *, by: Actor) -> Device:
    """The tablet is no longer signed in: its next request is out, and so is whoever works at it.

    Locks the tablet, then the chain head; a second sender is refused. If the power fails, all of it or
    nothing. Raises NotAllowed for anybody but the owner.
    """
    _owner(by)
    row = locked(Device.objects.filter(pk=pk, ended_at=None)).first()
    if row is None:
        raise Refused(_("This tablet was ended a moment ago."))
    _end(row, by=by)
    activity.record([Entry(verb="end tablet", record=row, facts={"tablet": row.name})], by=by)
    return row


@transaction.atomic
def begin_stay(person: Person, device_pk: int, *, by: Actor) -> str:
    """The person works at this tablet from now on; the text returned is for the browser's session alone.

    Called once PIN or password was right. Whoever worked there before is out with the next request. Locks
    the misses, the tablet, then the chain head; of two who begin at once the later one stays. Only another
    person leaves an activity row: the same one opens the lock many times a day. If the power fails before the
    commit the tablet is as it was.
    """
    PinMiss.objects.filter(person=person, device=device_pk).update(misses=0, password_misses=0)
    row = locked(Device.objects.filter(pk=device_pk, ended_at=None)).first()
    if row is None:
        raise Refused(_("This tablet is no longer enrolled. The owner can enrol it again."))
    is_new = row.person_id != person.pk
    stay = secrets.token_urlsafe(TOKEN_BYTES)
    row.person, row.stay_sha256 = person, token_digest(stay)
    row.opened_at = row.touched_at = row.seen_at = by.at
    row.save(update_fields=["person", "stay_sha256", "opened_at", "touched_at", "seen_at"])
    if is_new:
        entry = Entry(verb="begin at tablet", record=row, facts={"tablet": row.name, "person": person.name})
        activity.record([entry], by=by)
    return stay


def end_stay(device: Device) -> None:
    """Nobody works at the tablet any more; somebody who began there meanwhile goes on.

    One statement, safe to repeat, without an activity row: what was done was recorded as it was done.
    """
    _stay_rows(device).update(**_NOBODY)


def end_stays_of(person_pk: int) -> None:
    """The person works at no tablet any more, inside another action's transaction. Locks the tablets."""
    Device.objects.filter(person=person_pk).update(**_NOBODY)


def end_tablets(*, by: Actor) -> int:
    """End all tablets, inside another action's transaction, which tells of it. Locks the tablets."""
    return Device.objects.filter(ended_at=None).update(ended_at=by.at, **_NOBODY)


def lock_stay(device: Device) -> None:
    """The tablet asks for the PIN again; the stay goes on behind the lock. One statement, safe to repeat."""
    _stay_rows(device).update(touched_at=None)


def note_touch(device: Device, *, by: Actor) -> None:
    """Somebody is at the tablet: written at most once a minute, and never to a tablet that was locked since.

    One statement and no activity row; if the power fails the tablet locks up to a minute too early.
    """
    if device.touched_at is not None and device.touched_at <= by.at - TOUCH_EVERY:
        touched = _stay_rows(device).filter(touched_at=device.touched_at)
        touched.update(touched_at=by.at, seen_at=by.at)


def note_seen(device: Device, *, by: Actor) -> None:
    """The tablet is there, whoever is at it: written at most once a minute, one statement."""
    if device.seen_at <= by.at - TOUCH_EVERY:
        Device.objects.filter(pk=device.pk).update(seen_at=by.at)


def _stay_rows(device: Device) -> models.QuerySet[Device]:
    return Device.objects.filter(pk=device.pk, stay_sha256=device.stay_sha256)


def _end(row: Device | None, *, by: Actor) -> None:
    if row is None:
        return
    row.ended_at = by.at
    for column, value in _NOBODY.items():
        setattr(row, column, value)
    row.save(update_fields=["ended_at", *_NOBODY])


def _owner(by: Actor) -> Person:
    if by.scope != Scope.DESK or by.person is None or not access.may_manage_tablets(by.person):
        raise NotAllowed(_("Only the owner enrols and ends tablets."))
    return by.person


def _check(data: DeviceInput) -> None:
    if not data.name.strip():
        raise BadInput("name", data.name, _("what the tablet is called, such as Bench tablet 1"))
    if not LEAST_LOCK_MINUTES <= data.lock_minutes <= MOST_LOCK_MINUTES:
        accepted = _("a whole number from %(least)s to %(most)s") % {
            "least": LEAST_LOCK_MINUTES,
            "most": MOST_LOCK_MINUTES,
        }
        raise BadInput("lock_minutes", data.lock_minutes, accepted)
