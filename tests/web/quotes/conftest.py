"""Quotes as the web meets them: on the clock of now."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.models import Person, QuoteRevision
from tests.factories.quotes import draft_quote, sent_quote

SignIn = Callable[[Person], Client]


@pytest.fixture
def draft(ilse: Person) -> QuoteRevision:
    return draft_quote(ilse, at=timezone.now())


@pytest.fixture
def sent(ilse: Person) -> QuoteRevision:
    return sent_quote(ilse, at=timezone.now())


@pytest.fixture
def front_desk(ilse: Person, signed_in: SignIn) -> Client:
    return signed_in(ilse)


@pytest.fixture
def owner(maren: Person, signed_in: SignIn) -> Client:
    return signed_in(maren)


@pytest.fixture
def bench(tobiah: Person, signed_in: SignIn) -> Client:
    """A technician with a job on every visit."""
    return signed_in(tobiah)
