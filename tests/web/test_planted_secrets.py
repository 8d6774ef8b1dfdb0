"""Secrets are sent through every form, and all that was logged or told in the activity log is read.

The test grows by itself: a new address, and a new field for a password, are in it.
"""

import io
import logging
import uuid
from collections.abc import Iterator
from importlib import import_module

import pytest
from django import forms
from django.conf import settings
from django.test import Client
from django.utils import timezone

from shopapp.models import Activity, Person
from shopapp.web.shared.logs import HideTokens, OneLine
from tests.factories import PASSWORD
from tests.factories.devices import enrolled
from tests.processes import REPOSITORY
from tests.web.addresses import addresses
from tests.web.answers import Asked, browser, key_of, rolled_back
from tests.web.world import World

pytestmark = pytest.mark.django_db

SECRET = "kelp-and-salt-73519"
WRONG_PIN = "918273"
# a signature is the customer's own hand, though no field of a password
HANDWRITTEN = ("strokes",)
ROLES = ("owner", "owner by PIN")


@pytest.fixture
def written() -> Iterator[io.StringIO]:
    """What the console of the shop would show, in full."""
    stream = io.StringIO()
    handler = logging.StreamHandler(stream)
    handler.setFormatter(OneLine())
    handler.addFilter(HideTokens())
    loggers = [logging.getLogger(name) for name in settings.LOGGING["loggers"]]
    for one in loggers:
        one.addHandler(handler)
    yield stream
    for one in loggers:
        one.removeHandler(handler)


def secret_fields() -> set[str]:
    """The names of all fields of all forms of the shop that hide what is typed."""
    for path in sorted((REPOSITORY / "shopapp" / "web").rglob("forms*.py")):
        import_module(".".join(path.relative_to(REPOSITORY).with_suffix("").parts))
    found = set(HANDWRITTEN)
    left = [forms.Form]
    while left:
        form = left.pop()
        left += form.__subclasses__()
        fields = form.base_fields.items()
        found |= {name for name, field in fields if isinstance(field.widget, forms.PasswordInput)}
    return found


def path_of(name: str, role: str, world: World) -> str:
    (address,) = [one for one in addresses() if one.name == name]
    return address.path(key_of(Asked(address=address, record="own", role=role, method="POST"), world))


def told() -> str:
    """Everything in the activity log."""
    return str(list(Activity.objects.values()))


def test_no_secret_is_logged_or_told_wherever_it_is_sent(world: World, written: io.StringIO) -> None:
    fields = secret_fields()
    found = []

    for place, address in enumerate(addresses()):
        for role in ("customer link",) if address.name.startswith("approvals:") else ROLES:
            secret = (SECRET, WRONG_PIN)[place % 2]
            sent = dict.fromkeys(fields, secret) | {"once_key": str(uuid.uuid4()), "answer": "approve"}
            with rolled_back():
                browser(role, world).post(path_of(address.name, role, world), sent)
                found += [address.name] if secret in told() else []

    log = written.getvalue()
    keys = [cookie for cookies in world.cookies.values() for cookie in cookies.values() if cookie]
    keys += [world.own["token"], world.own["intake token"], SECRET, WRONG_PIN]
    assert {"password", "pin"} <= fields
    assert (found, [key for key in keys if key in log or key in told()]) == ([], [])
    assert log.count("\n") > 50


def test_secrets_that_open_a_door_are_logged_nowhere(world: World, written: io.StringIO) -> None:
    maren = Person.objects.get(username="maren")
    client = Client()

    client.post("/people/sign-in/", {"username": "maren", "password": PASSWORD})
    token = enrolled(maren, at=timezone.now())[1]
    tablet = browser("owner by PIN", world)
    tablet.post("/devices/lock/")
    tablet.post("/devices/unlock/", {"pin": "246810"})

    secrets = (PASSWORD, token, client.session.session_key, str(maren.password))
    assert [secret for secret in secrets if secret in written.getvalue() or secret in told()] == []
