"""Two containers in use: used oil and oily water."""

from collections.abc import Callable

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.waste import PutInInput, put_in
from shopapp.models import Person, WasteContainer, WasteKind
from tests.factories.waste import container_of

By = Callable[[Person], Actor]


@pytest.fixture
def drum(ilse: Person, by: By) -> WasteContainer:
    """A drum of 60 l for used oil, with 4 l in it from the drip tray."""
    row = container_of(by(ilse))
    put_in(row.pk, PutInInput(volume_ml=4_000, kind=WasteKind.USED_OIL, what="Drip tray"), by=by(ilse))
    return row


@pytest.fixture
def water(ilse: Person, by: By) -> WasteContainer:
    """A can of 20 l for oily water."""
    return container_of(by(ilse), name="Water can", kind=WasteKind.OILY_WATER, size_ml=20_000)
