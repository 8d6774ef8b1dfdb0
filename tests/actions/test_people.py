"""People join with roles; neither password nor wage leaks into the activity."""

import json
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.people import PersonInput, add_person, change_roles, switch_off
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Person, Shop, Wage
from tests.factories.people import PersonFactory
from tests.side_by_side import outcomes

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


def as_desk(person: Person) -> Actor:
    return Actor(scope=Scope.DESK, person=person, at=BY.at)


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


# three in the morning of 3 June in UTC is eight in the evening of 2 June in the shop's Vancouver
EVENING = Actor(scope=Scope.SYSTEM, at=datetime(2026, 6, 3, 3, 0, tzinfo=UTC))


def test_wage_begins_on_the_shops_day(shop: Shop) -> None:
    person = add_person(WEN, by=EVENING)

    assert person.wages.get().from_date == date(2026, 6, 2)


def test_wage_before_founding_begins_on_utc_day() -> None:
    person = add_person(WEN, by=EVENING)

    assert person.wages.get().from_date == date(2026, 6, 3)


def test_wage_begins_on_the_day_that_was_given(shop: Shop) -> None:
    person = add_person(replace(WEN, wage_from=date(2025, 1, 1)), by=EVENING)

    assert person.wages.get().from_date == date(2025, 1, 1)


@pytest.mark.django_db(transaction=True)
def test_name_taken_at_the_same_moment_is_refused() -> None:
    ends = outcomes([lambda: add_person(WEN, by=BY)] * 4)

    refused = [str(end) for end in ends if isinstance(end, Refused)]
    assert refused == ["There is somebody with the sign-in name wen already."] * 3
    assert (Person.objects.count(), Wage.objects.count()) == (1, 1)


@pytest.mark.parametrize("roles", [(), ("captain",), ("owner", "captain")])
def test_add_person_refuses_unknown_roles(roles: tuple[str, ...]) -> None:
    data = PersonInput(username="x", name="X", roles=roles, password="y" * 12)

    with pytest.raises(BadInput, match="roles"):
        add_person(data, by=BY)


def test_owner_says_what_another_works_as(maren: Person, tobiah: Person) -> None:
    change_roles(tobiah.pk, ["technician", "front_desk"], by=as_desk(maren))
    change_roles(tobiah.pk, ["front_desk", "technician"], by=as_desk(maren))

    tobiah.refresh_from_db()
    assert (tobiah.is_front_desk, tobiah.is_technician, tobiah.is_owner) == (True, True, False)
    [entry] = Activity.objects.filter(verb="change roles")
    told = json.loads(entry.payload)
    assert (told["before"], told["after"]) == ("technician", "front_desk technician")


def test_nobody_but_an_owner_says_so_and_never_of_oneself(maren: Person, ilse: Person) -> None:
    with pytest.raises(NotAllowed):
        change_roles(maren.pk, ["front_desk"], by=as_desk(ilse))
    with pytest.raises(Refused):
        change_roles(maren.pk, ["front_desk"], by=as_desk(maren))

    maren.refresh_from_db()
    assert maren.is_owner


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("deed", ["switch off", "change roles"])
def test_of_owners_who_turn_each_other_out_one_stays(maren: Person, deed: str) -> None:
    one, other = maren, PersonFactory.create(username="runa", name="Runa Falk", is_owner=True)

    def turn_out(person: Person, by: Person) -> None:
        if deed == "switch off":
            switch_off(person.pk, by=as_desk(by))
        else:
            change_roles(person.pk, ["front_desk"], by=as_desk(by))

    ends = outcomes([lambda: turn_out(other, one), lambda: turn_out(one, other)])

    assert sorted(type(end).__name__ for end in ends) == ["NoneType", "NotAllowed"]
    assert Person.objects.filter(is_owner=True, is_active=True).count() == 1
