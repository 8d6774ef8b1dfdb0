"""People at the door: somebody with a second step, and the digits that their telephone shows."""

import time
from collections.abc import Callable
from datetime import UTC, datetime

import pyotp
import pytest
from django.test import Client

from shopapp.actions.second_steps import seed_of
from shopapp.models import Person, SecondStep
from tests.factories import PASSWORD

SIGN_IN = "/people/sign-in/"
PROVE = "/people/prove/"
MADE = datetime(2026, 6, 1, tzinfo=UTC)


def digits(salt: str) -> str:
    """What the telephone shows now."""
    return pyotp.TOTP(seed_of(salt)).at(time.time())


def wrong_digits(salt: str) -> str:
    """Six digits that fit neither now nor around now."""
    app, step = pyotp.TOTP(seed_of(salt)), int(time.time()) // 30
    near = {app.generate_otp(step + back) for back in range(-3, 4)}
    return next(code for code in ("000000", *map(str, range(111111, 111121))) if code not in near)


@pytest.fixture
def stepped() -> Callable[[Person], SecondStep]:
    """Give a person a second step."""
    return lambda person: SecondStep.objects.create(
        person=person, salt=f"salt of {person.username}", made_at=MADE
    )


@pytest.fixture
def half_in() -> Callable[[Person], Client]:
    """A browser in which a person's password was taken and the second step is still to come."""

    def sign_half_in(person: Person) -> Client:
        client = Client()
        client.post(SIGN_IN, {"username": person.username, "password": PASSWORD})
        return client

    return sign_half_in
