"""PINs: set at the desk, counted at the tablet before they are looked at, shut after five misses (T16)."""

import json
from collections.abc import Callable
from datetime import datetime, timedelta

import pytest

from shopapp.actions import pins
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.refusals import NotAllowed
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Device, Person, Pin, PinMiss
from shopapp.queries.devices import stay_at
from tests.factories import PASSWORD
from tests.factories.devices import PIN, enrolled, tablet_itself, with_pin
from tests.side_by_side import outcomes

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
WRONG = "915372"


@pytest.fixture
def tablet(maren: Person, now: datetime) -> Device:
    return enrolled(maren, at=now)[0]


@pytest.fixture
def at_tablet(tablet: Device, tobiah: Person, now: datetime) -> Actor:
    with_pin(tobiah, at=now)
    return tablet_itself(tablet, at=now)


def misses(person: Person, tablet: Device) -> tuple[int, int]:
    row = PinMiss.objects.get(person=person, device=tablet)
    return row.misses, row.password_misses


def told() -> list[tuple[str, str]]:
    return list(Activity.objects.order_by("seq").values_list("verb", "record"))


def test_set_pin_keeps_a_hash_like_a_password_and_says_so(tobiah: Person, by: By) -> None:
    pins.set_pin(PIN, by=by(tobiah))

    kept = Pin.objects.get(person=tobiah).code
    # the hasher of the tests; in the shop the one of its passwords
    assert (kept.split("$")[0], PIN in kept) == ("md5", False)
    assert (told(), json.loads(Activity.objects.get().payload)) == ([("set PIN", f"person:{tobiah.pk}")], {})


@pytest.mark.parametrize("pin", ["", "12345", "1234567", "abcdef", "123456", "000000", "737373"])
def test_weak_pin_is_refused_and_never_repeated(tobiah: Person, by: By, pin: str) -> None:
    with pytest.raises(BadInput) as refusal:
        pins.set_pin(pin, by=by(tobiah))

    assert (refusal.value.field, Pin.objects.count()) == ("pin", 0)
    assert pin == "" or pin not in str(refusal.value)


@pytest.mark.parametrize("scope", [Scope.BENCH, Scope.DEVICE, Scope.LINK, Scope.SYSTEM])
def test_set_pin_is_for_the_desk(tobiah: Person, now: datetime, scope: Scope) -> None:
    with pytest.raises(NotAllowed):
        pins.set_pin(PIN, by=Actor(scope=scope, person=tobiah, at=now))


def test_right_pin_begins_a_stay(tobiah: Person, tablet: Device, at_tablet: Actor, now: datetime) -> None:
    tried = pins.enter_pin(tobiah, PIN, by=at_tablet)

    device = Device.objects.select_related("person__pin").get()
    assert (tried.sentence, stay_at(device, stay=tried.stay, at=now).person) == ("", tobiah)
    assert misses(tobiah, tablet) == (0, 0)


def test_pin_of_somebody_else_is_a_miss(tobiah: Person, wen: Person, at_tablet: Actor, now: datetime) -> None:
    with_pin(wen, at=now, pin=WRONG)

    assert pins.enter_pin(tobiah, WRONG, by=at_tablet).stay == ""


def test_right_pin_after_four_misses_sets_the_count_back(
    tobiah: Person, tablet: Device, at_tablet: Actor
) -> None:
    for _ in range(4):
        pins.enter_pin(tobiah, WRONG, by=at_tablet)
    assert misses(tobiah, tablet) == (4, 0)

    assert pins.enter_pin(tobiah, PIN, by=at_tablet).stay != ""
    assert (misses(tobiah, tablet), [verb for verb, _record in told()]) == ((0, 0), ["begin at tablet"])


def test_sixth_pin_needs_the_password_t16(tobiah: Person, tablet: Device, at_tablet: Actor) -> None:
    said = [pins.enter_pin(tobiah, WRONG, by=at_tablet).sentence for _ in range(6)]
    right = pins.enter_pin(tobiah, PIN, by=at_tablet)

    assert said[:4] == ["This is not the PIN of Tobiah Reyes. Try again."] * 4
    assert said[4] == "That was the wrong PIN too often. Give your password instead."
    assert said[5] == right.sentence == "Too many wrong PINs here. Give your password instead."
    assert (right.stay, misses(tobiah, tablet)) == ("", (5, 0))
    entry = Activity.objects.get()
    assert (entry.verb, entry.record, entry.scope) == ("many wrong PINs", f"person:{tobiah.pk}", "device")
    assert json.loads(entry.payload) == {"tablet": "Bench tablet 1", "misses": 5}
    assert WRONG not in str(vars(entry))


def test_password_opens_what_pins_have_shut(tobiah: Person, tablet: Device, at_tablet: Actor) -> None:
    assert pins.enter_password(tobiah, PASSWORD, by=at_tablet).sentence == "Give your PIN."
    for _ in range(5):
        pins.enter_pin(tobiah, WRONG, by=at_tablet)

    assert pins.enter_password(tobiah, "sea-salt", by=at_tablet).stay == ""
    assert pins.enter_password(tobiah, PASSWORD, by=at_tablet).stay != ""
    assert misses(tobiah, tablet) == (0, 0)


def test_passwords_are_not_guessed_for_ever(tobiah: Person, tablet: Device, at_tablet: Actor, by: By) -> None:
    for _ in range(5):
        pins.enter_pin(tobiah, WRONG, by=at_tablet)
    for _ in range(5):
        pins.enter_password(tobiah, "sea-salt", by=at_tablet)

    shut = pins.enter_password(tobiah, PASSWORD, by=at_tablet)
    assert (shut.stay, shut.sentence[:36]) == ("", "This tablet takes nothing more from ")
    assert [verb for verb, _record in told()] == ["many wrong PINs", "many wrong passwords"]
    pins.set_pin("702945", by=by(tobiah))
    assert pins.enter_pin(tobiah, "702945", by=at_tablet).stay != ""


def test_misses_count_for_the_person_and_the_tablet(
    tobiah: Person, wen: Person, maren: Person, at_tablet: Actor, now: datetime
) -> None:
    with_pin(wen, at=now)
    other = tablet_itself(enrolled(maren, at=now, name="Bench tablet 2")[0], at=now)
    for _ in range(5):
        pins.enter_pin(tobiah, WRONG, by=at_tablet)

    assert pins.enter_pin(wen, PIN, by=at_tablet).stay != ""
    assert pins.enter_pin(tobiah, PIN, by=other).stay != ""
    assert pins.enter_pin(tobiah, PIN, by=at_tablet).stay == ""


def test_new_pin_ends_the_stay_of_the_old_one(
    tobiah: Person, at_tablet: Actor, by: By, now: datetime
) -> None:
    stay = pins.enter_pin(tobiah, PIN, by=at_tablet).stay
    later = Actor(scope=Scope.DESK, person=tobiah, at=now + timedelta(seconds=1))

    pins.set_pin("702945", by=later)

    device = Device.objects.select_related("person__pin").get()
    assert stay_at(device, stay=stay, at=later.at) is None


def test_desk_gives_no_pin_to_anybody(tobiah: Person, by: By) -> None:
    with pytest.raises(NotAllowed):
        pins.enter_pin(tobiah, PIN, by=by(tobiah))


@pytest.mark.django_db(transaction=True)
def test_guesses_sent_at_once_are_all_counted(tobiah: Person, tablet: Device, at_tablet: Actor) -> None:
    ends = outcomes([lambda: pins.enter_pin(tobiah, WRONG, by=at_tablet)] * 8)

    looked_at = [end for end in ends if end.sentence.startswith(("This is not", "That was"))]
    assert (len(looked_at), misses(tobiah, tablet), len(ends)) == (5, (5, 0), 8)
    assert [verb for verb, _record in told()] == ["many wrong PINs"]


def test_first_password_from_other_hands_opens_no_tablet(
    tobiah: Person, at_tablet: Actor, now: datetime
) -> None:
    for _ in range(5):
        pins.enter_pin(tobiah, WRONG, by=at_tablet)
    tobiah.first_until = now + timedelta(days=1)

    assert pins.enter_password(tobiah, PASSWORD, by=at_tablet).stay == ""
