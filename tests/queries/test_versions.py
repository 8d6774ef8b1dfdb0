"""Who saved meanwhile."""

from collections.abc import Callable

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.customers import CustomerInput, edit_customer
from shopapp.models import Person
from shopapp.queries.versions import Conflict, Difference, conflict_over
from tests.factories import CustomerFactory

pytestmark = pytest.mark.django_db


def test_conflict_names_the_latest_saver(ilse: Person, maren: Person, by: Callable[[Person], Actor]) -> None:
    row, other = CustomerFactory(), CustomerFactory()
    edit_customer(row.pk, CustomerInput(name="A", phone="604 555 0101"), version=1, by=by(ilse))
    edit_customer(other.pk, CustomerInput(name="B", phone="604 555 0102"), version=1, by=by(maren))
    difference = Difference(label="Name", saved="A", typed="C")

    conflict = conflict_over(row, differences=[difference])

    assert conflict == Conflict(saved_by="Ilse Brandt", saved_at=by(ilse).at, differences=(difference,))


def test_conflict_without_activity_names_nobody() -> None:
    conflict = conflict_over(CustomerFactory(), differences=[])

    assert conflict == Conflict(saved_by="", saved_at=None, differences=())
