"""Tablets: only the owner enrols and ends them; a stay begins, is touched, locked and over."""

import json
from collections.abc import Callable
from datetime import datetime, timedelta

import pytest

from shopapp.actions import devices
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.devices import DeviceInput
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Device, Person
from shopapp.queries.devices import stay_at, tablet_of
from tests.factories.devices import enrolled, tablet_itself, with_pin

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
MINUTE = timedelta(minutes=1)


def fresh(device: Device) -> Device:
    return Device.objects.select_related("person__pin").get(pk=device.pk)


def begun(person: Person, *, at: datetime, device: Device | None = None) -> tuple[Device, str]:
    """A tablet at which the person works, and the text in its session."""
    with_pin(person, at=at)
    device = device or enrolled(person, at=at)[0]
    stay = devices.begin_stay(person, device.pk, by=tablet_itself(device, at=at))
    return fresh(device), stay


def test_enrol_device_keeps_only_the_hash(maren: Person, by: By) -> None:
    device, token = devices.enrol_device(DeviceInput(name=" Bench tablet 1 "), by=by(maren))

    assert (device.name, device.lock_minutes, tablet_of(token)) == ("Bench tablet 1", 12, device)
    assert len(token) >= 43
    assert token not in json.dumps(list(Device.objects.values()), default=str)
    told = Activity.objects.get()
    assert (told.verb, told.actor, token in told.payload) == ("enrol tablet", f"person:{maren.pk}", False)


def test_enrolled_again_the_old_name_is_ended(maren: Person, by: By) -> None:
    old, token = devices.enrol_device(DeviceInput(name="Bench tablet 1"), by=by(maren))

    devices.enrol_device(DeviceInput(name="Counter tablet", replaces=old.pk), by=by(maren))

    assert tablet_of(token) is None
    assert list(Device.objects.filter(ended_at=None).values_list("name", flat=True)) == ["Counter tablet"]


@pytest.mark.parametrize("who", ["ilse", "tobiah"])
def test_only_the_owner_enrols_and_ends(
    who: str, request: pytest.FixtureRequest, by: By, maren: Person
) -> None:
    person = request.getfixturevalue(who)
    device, _token = devices.enrol_device(DeviceInput(name="Bench tablet 1"), by=by(maren))

    with pytest.raises(NotAllowed):
        devices.enrol_device(DeviceInput(name="Mine"), by=by(person))
    with pytest.raises(NotAllowed):
        devices.end_device(device.pk, by=by(person))

    assert Device.objects.filter(ended_at=None).count() == 1


def test_owner_by_pin_enrols_nothing(maren: Person, now: datetime) -> None:
    at_bench = Actor(scope=Scope.BENCH, person=maren, at=now)

    with pytest.raises(NotAllowed):
        devices.enrol_device(DeviceInput(name="Mine"), by=at_bench)


@pytest.mark.parametrize(
    ("data", "field"),
    [
        (DeviceInput(name=" "), "name"),
        (DeviceInput(name="A", lock_minutes=9), "lock_minutes"),
        (DeviceInput(name="A", lock_minutes=16), "lock_minutes"),
    ],
)
def test_enrol_device_names_the_field(maren: Person, by: By, data: DeviceInput, field: str) -> None:
    with pytest.raises(BadInput) as refusal:
        devices.enrol_device(data, by=by(maren))

    assert (refusal.value.field, Device.objects.count()) == (field, 0)


def test_ended_device_is_unknown_and_nobody_is_there(
    maren: Person, tobiah: Person, by: By, now: datetime
) -> None:
    device, stay = begun(tobiah, at=now)

    ended = devices.end_device(device.pk, by=by(maren))

    assert (ended.person, ended.stay_sha256, tablet_of("token of Bench tablet 1 0")) == (None, "", None)
    assert stay_at(fresh(device), stay=stay, at=now) is None
    with pytest.raises(Refused):
        devices.end_device(device.pk, by=by(maren))
    with pytest.raises(Refused):
        devices.begin_stay(tobiah, device.pk, by=tablet_itself(device, at=now))


def test_stay_belongs_to_the_last_who_began(tobiah: Person, wen: Person, now: datetime) -> None:
    device, first = begun(tobiah, at=now)
    device, second = begun(wen, at=now + MINUTE, device=device)

    assert stay_at(device, stay=first, at=now + MINUTE) is None
    assert stay_at(device, stay=second, at=now + MINUTE).person.name == "Wen Okafor"


def test_only_another_person_leaves_activity(tobiah: Person, wen: Person, now: datetime) -> None:
    device, _stay = begun(tobiah, at=now)
    begun(tobiah, at=now + MINUTE, device=device)
    begun(wen, at=now + 2 * MINUTE, device=device)

    rows = Activity.objects.order_by("seq").values_list("verb", "actor", "scope", "payload")
    names = [json.loads(payload)["person"] for _verb, _actor, _scope, payload in rows]
    assert names == ["Tobiah Reyes", "Wen Okafor"]
    assert {row[:3] for row in rows} == {("begin at tablet", f"device:{device.pk}", "device")}


def test_stay_locks_after_its_minutes_and_not_before(tobiah: Person, now: datetime) -> None:
    device, stay = begun(tobiah, at=now)

    locked = [
        stay_at(device, stay=stay, at=now + minutes * MINUTE).is_locked for minutes in (0, 11.9, 12, 300)
    ]

    assert locked == [False, False, True, True]


def test_touch_is_written_once_a_minute(tobiah: Person, now: datetime) -> None:
    device, stay = begun(tobiah, at=now)

    devices.note_touch(device, by=tablet_itself(device, at=now + 0.9 * MINUTE))
    assert fresh(device).touched_at == now
    devices.note_touch(device, by=tablet_itself(device, at=now + 5 * MINUTE))

    device = fresh(device)
    assert (device.touched_at, device.seen_at) == (now + 5 * MINUTE, now + 5 * MINUTE)
    assert stay_at(device, stay=stay, at=now + 16 * MINUTE).is_locked is False


def test_touch_that_comes_late_opens_no_lock(tobiah: Person, now: datetime) -> None:
    device, stay = begun(tobiah, at=now)
    devices.lock_stay(device)

    devices.note_touch(device, by=tablet_itself(device, at=now + 5 * MINUTE))

    assert stay_at(fresh(device), stay=stay, at=now).is_locked is True


def test_end_stay_spares_who_began_meanwhile(tobiah: Person, wen: Person, now: datetime) -> None:
    before, _stay = begun(tobiah, at=now)
    after, stay = begun(wen, at=now, device=before)

    devices.end_stay(before)
    assert stay_at(fresh(after), stay=stay, at=now).person == wen
    devices.end_stay(after)
    devices.end_stay(after)

    assert (fresh(after).person, stay_at(fresh(after), stay=stay, at=now)) == (None, None)


def test_tablet_is_seen_once_a_minute(maren: Person, now: datetime) -> None:
    device, _token = enrolled(maren, at=now)

    devices.note_seen(device, by=tablet_itself(device, at=now + 0.5 * MINUTE))
    assert fresh(device).seen_at == now
    devices.note_seen(device, by=tablet_itself(device, at=now + MINUTE))

    assert fresh(device).seen_at == now + MINUTE
