"""Who may be chosen for a job."""

import pytest

from shopapp.queries.people import Colleague, technicians
from tests.factories import PersonFactory

pytestmark = pytest.mark.django_db


def test_technicians_are_those_who_still_work_here() -> None:
    wen = PersonFactory(name="Wen Okafor", is_technician=True)
    maren = PersonFactory(name="Maren Falk", is_technician=True, is_owner=True)
    PersonFactory(name="Ilse Brandt")
    PersonFactory(name="Gone Long Ago", is_technician=True, is_active=False)

    found = technicians()

    assert found == (
        Colleague(pk=maren.pk, name="Maren Falk"),
        Colleague(pk=wen.pk, name="Wen Okafor"),
    )
