"""A tablet at which somebody works by PIN."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.models import Person
from tests.factories.devices import at_tablet


@pytest.fixture
def by_pin() -> Callable[[Person], Client]:
    """A tablet at which the person has given their PIN."""
    return lambda person: at_tablet(person, at=timezone.now())
