"""People join with roles; neither password nor wage leaks into the activity."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.people import PersonInput, add_person
from shopapp.actions.refusals import Refused
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Person, Wage

pytestmark = pytest.mark.django_db
BY = Actor(scope=Scope.SYSTEM, at=datetime(2026, 6, 1, tzinfo=UTC))
WEN = PersonInput(
    username="wen",
    name="Wen Okafor",
    roles=("technician",),
    password="rudder-and-reed",
    wage=Decimal("34.50"),
    burden=Decimal("0.22"),
)


def test_add_person_keeps_roles_and_wage() -> None:
    person = add_person(WEN, by=BY)

    wage = Wage.objects.get(person=person)
    assert (person.is_technician, person.is_owner, person.is_front_desk) == (True, False, False)
    assert (wage.hourly_e4, wage.burden_e4) == (345_000, 2_200)
    assert person.check_password("rudder-and-reed")


def test_add_person_keeps_secrets_out_of_activity() -> None:
    add_person(WEN, by=BY)

    written = " ".join(str(row) for row in Activity.objects.values_list("payload", "record", "verb"))
    assert ("rudder" in written, "34.5" in written, "345000" in written) == (False, False, False)
    assert "rudder" not in repr(WEN)


def test_add_person_refuses_a_taken_name() -> None:
    add_person(WEN, by=BY)

    with pytest.raises(Refused, match="wen already"):
        add_person(WEN, by=BY)

    assert Person.objects.count() == 1


@pytest.mark.parametrize("roles", [(), ("captain",), ("owner", "captain")])
def test_add_person_refuses_unknown_roles(roles: tuple[str, ...]) -> None:
    data = PersonInput(username="x", name="X", roles=roles, password="y" * 12)

    with pytest.raises(BadInput, match="roles"):
        add_person(data, by=BY)
