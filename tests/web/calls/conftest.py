"""Call slips for the tests of this room."""

from collections.abc import Callable

import pytest

from shopapp.models import CallSlip, Person
from tests.conftest import NOW


@pytest.fixture
def slip(ilse: Person) -> Callable[..., CallSlip]:
    """Writes a slip down; it waits unless told."""

    def write(**fields: object) -> CallSlip:
        given = {"name": "Aud Nilsen", "about": "When is it ready?", "taken_by": ilse, "taken_at": NOW}
        return CallSlip.objects.create(**given | fields)

    return write
