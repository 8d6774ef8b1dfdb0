"""Two tablets and three people in any order: who is let in, and when it ends (T15, T16).

A tablet opens for whoever gave their PIN last, until the lock, the end of the tablet, of the person's rights
or of the PIN; reckoned here beside the app, from what happened alone.
"""

from dataclasses import dataclass, field
from datetime import timedelta

import pytest
from hypothesis import strategies as st
from hypothesis.stateful import initialize, invariant, rule

from shopapp.actions import devices, pins
from shopapp.actions.activity import first_bad_link
from shopapp.actions.actor import Actor, Scope
from shopapp.models import Activity, Device, Person
from shopapp.queries.devices import Stay, stay_at, tablet_of
from tests.conftest import NOW
from tests.factories import PASSWORD, PersonFactory, found_shop
from tests.factories.devices import enrolled, tablet_itself
from tests.states.running import ShopMachine, run

pytestmark = pytest.mark.django_db

PINS = ("480157", "902317", "610482")
WRONG = "111222"
# mostly the same person at the same tablet, so that something comes of it
WHO = st.sampled_from([0, 0, 0, 1, 2])
WHERE = st.sampled_from([0, 0, 0, 1])
MINUTE = timedelta(minutes=1)
# as the design says, written down once more: five misses of a PIN, then as many of a password
MOST = 5


@dataclass
class Told:
    """What a tablet's session may hold, and what the tests reckon of it."""

    token: str
    stay: str = ""
    person: int | None = None
    idle: timedelta | None = timedelta()
    misses: dict[int, int] = field(default_factory=lambda: dict.fromkeys(range(3), 0))
    passwords: dict[int, int] = field(default_factory=lambda: dict.fromkeys(range(3), 0))
    is_enrolled: bool = True


class Tablets(ShopMachine):
    """PINs right and wrong, locks, touches, switched-off people and ended tablets."""

    @initialize()
    def open_shop(self) -> None:
        found_shop()
        self.now = NOW
        self.owner = PersonFactory.create(is_owner=True, is_technician=True)
        others = [PersonFactory.create(is_technician=True), PersonFactory.create()]
        self.people: list[Person] = [self.owner, *others]
        self.works = [True, True, True]
        self.pins = list(PINS)
        self.tablets = [Told(token=enrolled(self.owner, at=NOW, name=f"T{n}")[1]) for n in range(2)]
        for person, pin in zip(self.people, PINS, strict=True):
            pins.set_pin(pin, by=self._desk(person))
        self._later()

    def _desk(self, person: Person) -> Actor:
        return Actor(scope=Scope.DESK, person=person, at=self.now)

    def _later(self, by: timedelta = timedelta(seconds=1)) -> None:
        self.now += by
        for told in self.tablets:
            told.idle = told.idle + by if told.idle is not None else None

    def _stay(self, told: Told) -> tuple[Device | None, Stay | None]:
        device = tablet_of(told.token)
        return device, stay_at(device, stay=told.stay, at=self.now) if device is not None else None

    @rule(where=WHERE, who=WHO, times=st.sampled_from([1, 1, 4, 5]), is_others=st.booleans())
    def give_wrong_pin(self, where: int, who: int, times: int, *, is_others: bool) -> None:
        """A PIN of somebody else, or of nobody."""
        other = self.pins[(who + 1) % 3]
        given = other if is_others and other != self.pins[who] else WRONG
        for _ in range(times):
            self._give(self.tablets[where], who, given)

    @rule(where=WHERE, who=WHO)
    def give_pin(self, where: int, who: int) -> None:
        self._give(self.tablets[where], who, self.pins[who])

    def _give(self, told: Told, who: int, given: str) -> None:
        device = tablet_of(told.token)
        if device is None or not self.works[who]:
            return
        opens = given == self.pins[who] and told.misses[who] < MOST
        stay = pins.enter_pin(self.people[who], given, by=tablet_itself(device, at=self.now)).stay
        assert bool(stay) is opens
        self._note(told, who, stay=stay, counted=told.misses)

    @rule(where=WHERE, who=WHO, times=st.sampled_from([1, 5]), is_right=st.booleans())
    def give_password(self, where: int, who: int, times: int, *, is_right: bool) -> None:
        told, device = self.tablets[where], tablet_of(self.tablets[where].token)
        if device is None or not self.works[who]:
            return
        for _ in range(1 if is_right else times):
            opens = is_right and told.misses[who] == MOST and told.passwords[who] < MOST
            word, is_asked = PASSWORD if is_right else "sea-salt", told.misses[who] == MOST
            by = tablet_itself(device, at=self.now)
            stay = pins.enter_password(self.people[who], word, by=by).stay
            assert bool(stay) is opens
            if is_asked:
                self._note(told, who, stay=stay, counted=told.passwords)

    def _note(self, told: Told, who: int, *, stay: str, counted: dict[int, int]) -> None:
        if not stay:
            counted[who] = min(counted[who] + 1, MOST)
            return
        told.misses[who] = told.passwords[who] = 0
        told.stay, told.person, told.idle = stay, who, timedelta()
        self._later()

    @rule(minutes=st.sampled_from([1, 5, 11, 12]))
    def wait(self, minutes: int) -> None:
        self._later(minutes * MINUTE)

    @rule(where=WHERE)
    def touch(self, where: int) -> None:
        """A page is asked for: it counts as a touch where the tablet is open."""
        told = self.tablets[where]
        device, stay = self._stay(told)
        if device is None or stay is None or stay.is_locked:
            return
        devices.note_touch(device, by=tablet_itself(device, at=self.now))
        if told.idle is not None and told.idle >= MINUTE:
            told.idle = timedelta()

    @rule(where=WHERE, is_over=st.sampled_from([True, False, False]))
    def lock_or_leave(self, where: int, *, is_over: bool) -> None:
        told = self.tablets[where]
        device, stay = self._stay(told)
        if device is None or stay is None:
            return
        if is_over:
            devices.end_stay(device)
            told.person = None
        else:
            devices.lock_stay(device)
            told.idle = None

    @rule(who=WHO, works=st.booleans())
    def switch(self, who: int, *, works: bool) -> None:
        """Switched off and on again; whoever was at a tablet is out while it lasts."""
        Person.objects.filter(pk=self.people[who].pk).update(is_active=works)
        self.works[who] = works

    @rule(who=WHO, pin=st.sampled_from(PINS))
    def set_pin(self, who: int, pin: str) -> None:
        pins.set_pin(pin, by=self._desk(self.people[who]))
        self.pins[who] = pin
        for told in self.tablets:
            told.misses[who] = told.passwords[who] = 0
            if told.person == who:
                told.person = None

    @rule(where=WHERE, lot=st.integers(0, 9))
    def end_tablet(self, where: int, lot: int) -> None:
        """Seldom, because it ends the game at that tablet."""
        device = tablet_of(self.tablets[where].token)
        if device is not None and lot == 0:
            devices.end_device(device.pk, by=self._desk(self.owner))
            self.tablets[where].is_enrolled = False

    @invariant()
    def opens_for_whom_it_should(self) -> None:
        for told in self.tablets if hasattr(self, "tablets") else []:
            _device, stay = self._stay(told)
            is_there = told.is_enrolled and told.person is not None and self.works[told.person]
            assert (stay is not None) is is_there
            if stay is None or told.person is None:
                continue
            assert stay.person.pk == self.people[told.person].pk
            assert stay.is_locked is (told.idle is None or told.idle >= 12 * MINUTE)
            roles = (stay.person.is_owner, stay.person.is_front_desk, stay.person.is_technician)
            assert roles == (False, False, True)

    def end(self) -> None:
        assert first_bad_link() is None
        told = "".join(payload or "" for payload in Activity.objects.values_list("payload", flat=True))
        assert not any(pin in told for pin in (*PINS, WRONG))


def test_tablets_open_for_whom_they_should() -> None:
    run(Tablets, runs=4, steps=25)
