"""An enrolled tablet, and the browsers in front of it."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.models import MOST_LOCK_MINUTES, Device, Person
from tests.factories.devices import at_tablet, browser_of, enrolled, with_pin


@pytest.fixture
def tablet(maren: Person) -> Client:
    """An enrolled tablet at which nobody works; Tobiah has a PIN."""
    return browser_of(enrolled(maren, at=timezone.now())[1])


@pytest.fixture
def tobiah(tobiah: Person) -> Person:
    return with_pin(tobiah, at=timezone.now())


@pytest.fixture
def by_pin() -> Callable[[Person], Client]:
    """A tablet at which the person has given their PIN."""
    return lambda person: at_tablet(person, at=timezone.now())


@pytest.fixture
def idle() -> Callable[[], None]:
    """Nobody has touched any tablet for longer than it waits."""

    def forget() -> None:
        Device.objects.update(touched_at=timezone.now() - timedelta(minutes=MOST_LOCK_MINUTES))

    return forget
