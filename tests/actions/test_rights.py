"""Who may work at the desk."""

from collections.abc import Callable

import pytest

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.refusals import NotAllowed
from shopapp.actions.rights import desk_person
from shopapp.models import Person
from tests.conftest import NOW

pytestmark = pytest.mark.django_db


def test_desk_person_is_front_desk_or_owner(
    ilse: Person, maren: Person, by: Callable[[Person], Actor]
) -> None:
    people = [desk_person(by(ilse)), desk_person(by(maren))]

    assert people == [ilse, maren]


def test_desk_person_refuses_technician_and_nobody(tobiah: Person, by: Callable[[Person], Actor]) -> None:
    for actor in (by(tobiah), Actor(scope=Scope.LINK, at=NOW), Actor(scope=Scope.SYSTEM, at=NOW)):
        with pytest.raises(NotAllowed, match="front desk and the owner"):
            desk_person(actor)
