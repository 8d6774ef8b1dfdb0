"""Enrolled tablets, people with a PIN, and browsers of both."""

from datetime import datetime, timedelta

from django.contrib.auth.hashers import make_password
from django.test import Client

from shopapp.actions.actor import Actor, Scope
from shopapp.models import Device, Person, Pin
from shopapp.queries.links import token_digest
from shopapp.web.shared.tablets import cookie_name

PIN = "480157"


def enrolled(by: Person, *, at: datetime, name: str = "Bench tablet 1") -> tuple[Device, str]:
    """A tablet, and the token that its cookie holds."""
    token = f"token of {name} {Device.objects.count()}"
    row = Device.objects.create(
        name=name, token_sha256=token_digest(token), enrolled_by=by, enrolled_at=at, seen_at=at
    )
    return row, token


def with_pin(person: Person, *, at: datetime, pin: str = PIN) -> Person:
    """The person, who has set a PIN a moment ago."""
    Pin.objects.update_or_create(
        person=person, defaults={"code": make_password(pin), "set_at": at - timedelta(minutes=1)}
    )
    return person


def tablet_itself(device: Device, *, at: datetime) -> Actor:
    """The tablet before anybody gave a PIN."""
    return Actor(scope=Scope.DEVICE, device=device, at=at)


def browser_of(token: str) -> Client:
    """A tablet's browser at which nobody works."""
    client = Client()
    client.cookies[cookie_name()] = token
    return client


def at_tablet(person: Person, *, at: datetime) -> Client:
    """The browser of a tablet of its own at which the person has given their PIN."""
    with_pin(person, at=at)
    client = browser_of(enrolled(person, at=at)[1])
    client.post(f"/devices/worker/{person.pk}/pin/", {"secret": PIN})
    return client
