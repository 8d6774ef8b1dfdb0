"""Enrolled tablets: which one asks, who works at it, and what the owner's list and the picker show."""

import hmac
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Q, QuerySet

from shopapp import access
from shopapp.models import MOST_PIN_MISSES, Device, Person, Pin, PinMiss
from shopapp.queries.links import token_digest


@dataclass(frozen=True, kw_only=True)
class Stay:
    """A person at a tablet by PIN. The person has the rights of the bench, whatever else they are."""

    device: Device
    person: Person
    is_locked: bool


@dataclass(frozen=True, kw_only=True)
class Worker:
    """Somebody who can be chosen at a tablet."""

    pk: int
    name: str


@dataclass(frozen=True, kw_only=True)
class Tablet:
    """A tablet that can be chosen in a list."""

    pk: int
    name: str


@dataclass(frozen=True, kw_only=True)
class PickerPage:
    """“Who is working?”: names and nothing else of the shop."""

    tablet: str
    workers: tuple[Worker, ...]


@dataclass(frozen=True, kw_only=True)
class PinPage:
    """The PIN of one person is asked for, or the password once too many were wrong."""

    tablet: str
    pk: int
    name: str
    wants_password: bool
    sentence: str
    next: str


@dataclass(frozen=True, kw_only=True)
class TabletRow:
    """An enrolled tablet as the owner sees it."""

    pk: int
    name: str
    seen_at: datetime
    enrolled_at: datetime
    lock_minutes: int
    person: str
    is_this_one: bool


@dataclass(frozen=True, kw_only=True)
class ShutPin:
    """Somebody whose PIN was wrong too often at a tablet."""

    person: str
    tablet: str


@dataclass(frozen=True, kw_only=True)
class DevicesPage:
    """The enrolled tablets, where a PIN is shut, and how many tablets were ended."""

    tablets: tuple[TabletRow, ...]
    shut: tuple[ShutPin, ...]
    ended: int
    this_one: str


@dataclass(frozen=True, kw_only=True)
class OwnPinPage:
    """Whether the person has a PIN already, and since when."""

    since: datetime | None


def tablet_of(token: str) -> Device | None:
    """The enrolled tablet that this token belongs to, with who works at it and their PIN. One query."""
    if not token:
        return None
    rows = Device.objects.select_related("person__pin").filter(ended_at=None)
    return rows.filter(token_sha256=token_digest(token)).first()


def stay_at(device: Device, *, stay: str, at: datetime) -> Stay | None:
    """Whose stay the session's text belongs to; ``None`` when it is over. No query.

    Over it is when somebody else began, when the person was switched off or has no role any more, and when
    their PIN was set anew: asked at each request, so that the next one is out.
    """
    person = device.person
    if person is None or not stay or not hmac.compare_digest(token_digest(stay), device.stay_sha256):
        return None
    pin = getattr(person, "pin", None)
    if not person.is_active or not access.is_staff_member(person) or pin is None:
        return None
    if device.opened_at is None or pin.set_at > device.opened_at:
        return None
    return Stay(device=device, person=at_the_bench(person), is_locked=_is_locked(device, at=at))


def at_the_bench(person: Person) -> Person:
    """The same person with the rights of the bench: a technician's on their own jobs, and nothing more.

    It is a copy for asking rights of, never to be saved. Every rule of the shop reads these three columns,
    so that a rule nobody thought of here says no as well.
    """
    copy = Person(pk=person.pk, username=person.username, name=person.name, is_technician=True)
    copy._state.adding, copy._state.db = False, person._state.db
    return copy


def _is_locked(device: Device, *, at: datetime) -> bool:
    if device.touched_at is None:
        return True
    return at >= device.touched_at + timedelta(minutes=device.lock_minutes)


def worker(pk: int) -> Person | None:
    """Somebody who may be chosen at a tablet. One query."""
    return _workers().filter(pk=pk).first()


def picker_page(device: Device) -> PickerPage:
    """Everybody who works here and has a PIN, by name. One query."""
    rows = _workers().order_by("name", "pk").values_list("pk", "name")
    workers = tuple(Worker(pk=pk, name=name) for pk, name in rows)
    return PickerPage(tablet=device.name, workers=workers)


def pin_page(device: Device, person: Person, *, sentence: str = "", next_page: str = "") -> PinPage:
    """One query: whether the PIN is shut for this person at this tablet."""
    shut = PinMiss.objects.filter(person=person, device=device, misses=MOST_PIN_MISSES)
    return PinPage(
        tablet=device.name,
        pk=person.pk,
        name=person.name,
        wants_password=shut.exists(),
        sentence=sentence,
        next=next_page,
    )


def _workers() -> QuerySet[Person]:
    has_role = Q(is_front_desk=True) | Q(is_technician=True) | Q(is_owner=True)
    return Person.objects.filter(has_role, is_active=True, pin__isnull=False)


def tablets() -> tuple[Tablet, ...]:
    """The enrolled tablets, by name. One query."""
    rows = Device.objects.filter(ended_at=None).order_by("name", "pk").values_list("pk", "name")
    return tuple(Tablet(pk=pk, name=name) for pk, name in rows)


def devices_page(*, this_one: Device | None) -> DevicesPage:
    """Three queries, however many tablets there are."""
    rows = Device.objects.select_related("person").filter(ended_at=None).order_by("name", "pk")
    return DevicesPage(
        tablets=tuple(_tablet(row, this_one=this_one) for row in rows),
        shut=_shut_pins(),
        ended=Device.objects.exclude(ended_at=None).count(),
        this_one=this_one.name if this_one is not None else "",
    )


def _shut_pins() -> tuple[ShutPin, ...]:
    rows = PinMiss.objects.filter(misses=MOST_PIN_MISSES, device__ended_at=None)
    names = rows.order_by("person__name", "pk").values_list("person__name", "device__name")
    return tuple(ShutPin(person=person, tablet=tablet) for person, tablet in names)


def _tablet(row: Device, *, this_one: Device | None) -> TabletRow:
    return TabletRow(
        pk=row.pk,
        name=row.name,
        seen_at=row.seen_at,
        enrolled_at=row.enrolled_at,
        lock_minutes=row.lock_minutes,
        person=row.person.name if row.person is not None else "",
        is_this_one=this_one is not None and this_one.pk == row.pk,
    )


def own_pin_page(person: Person) -> OwnPinPage:
    """One query."""
    return OwnPinPage(since=Pin.objects.filter(person=person).values_list("set_at", flat=True).first())
