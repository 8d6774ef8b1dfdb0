"""The clock beside the journeys: how long people need, in a real browser and at a person's pace.

Minutes long, so by hand: ``sh bin/test tests/journeys/test_human_pace.py -m soak -s``. It walks the steps of
the everyday journeys, but every key is struck and every look is taken in real time.
"""

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from playwright.sync_api import Keyboard, Locator

from shopapp.models import Person
from tests.journeys import steps
from tests.journeys import test_arrival_to_gone as new_boat
from tests.journeys import test_known_boat_to_paid as known_boat
from tests.journeys import test_new_customer_to_signed_phone as own_phone
from tests.journeys.conftest import Watched
from tests.journeys.test_arrival_to_tag import KEY_SECONDS, LOOK_SECONDS, MOST_INPUTS, MOST_SECONDS

pytestmark = [pytest.mark.browser, pytest.mark.soak, pytest.mark.django_db(transaction=True)]

MOST_SECONDS_NEW = 120
# what a person does to one control; each waits for a look first and counts as one input
TOUCHES = ("click", "check", "select_option", "press", "set_input_files")


class Clock:
    """Counts inputs and seconds of each part of a journey."""

    def __init__(self) -> None:
        self.inputs = 0
        self.laps: dict[str, tuple[int, float]] = {}

    def look(self) -> None:
        """Before each new thing a person looks where it is."""
        self.inputs += 1
        time.sleep(LOOK_SECONDS)

    @contextmanager
    def lap(self, name: str) -> Iterator[None]:
        inputs, began = self.inputs, time.perf_counter()
        yield
        self.laps[name] = (self.inputs - inputs, time.perf_counter() - began)

    def report(self, title: str) -> None:
        for name, (inputs, seconds) in self.laps.items():
            sys.stdout.write(f"{title} | {name}: {inputs} inputs, {seconds:.0f} s\n")
        everything = sum(seconds for _, seconds in self.laps.values())
        sys.stdout.write(
            f"{title} | all of it: {sum(lap[0] for lap in self.laps.values())} inputs, {everything:.0f} s\n"
        )


def paced(clock: Clock, deed: Callable[..., Any]) -> Callable[..., Any]:
    def slow(self: Any, *args: Any, **kwargs: Any) -> Any:
        clock.look()
        return deed(self, *args, **kwargs)

    return slow


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    """Every control of every page is from now on used at a person's pace; nothing else takes time."""
    clock, keys = Clock(), KEY_SECONDS * 1_000
    empty, strike, key_by_key = Locator.fill, Locator.press_sequentially, Keyboard.type

    def write(self: Locator, text: str, **_: Any) -> None:
        clock.look()
        empty(self, "")
        strike(self, text, delay=keys)

    def write_where_the_cursor_is(self: Keyboard, text: str, **_: Any) -> None:
        clock.look()
        key_by_key(self, text, delay=keys)

    for name in TOUCHES:
        monkeypatch.setattr(Locator, name, paced(clock, getattr(Locator, name)))
    monkeypatch.setattr(Locator, "fill", write)
    monkeypatch.setattr(Locator, "press_sequentially", write)
    monkeypatch.setattr(Keyboard, "type", write_where_the_cursor_is)
    monkeypatch.setattr(Keyboard, "press", paced(clock, Keyboard.press))
    monkeypatch.setattr(Watched, "check", lambda self: None)
    return clock


def test_known_boat_is_here_within_a_minute(
    open_browser: Callable[..., Watched], ilse: Person, tobiah: Person, clock: Clock
) -> None:
    """Journey (a)."""
    known_boat.known_boat()
    desk, bench = steps.desk_and_bench(open_browser, desk=ilse, bench=tobiah)
    tablet = open_browser(768, 1024)
    steps.sign_in(tablet, ilse)

    with clock.lap("boat taken in, with keys and place"):
        visit = known_boat.take_in(desk)
    job = visit.jobs.get()
    with clock.lap("cause found"):
        steps.find_the_cause(bench, job, cause="Impeller has lost two vanes", correction="New water pump")
    with clock.lap("quote written and sent"):
        revision = known_boat.write_the_quote(desk, job)
    with clock.lap("signed at the counter"):
        known_boat.sign_at_the_counter(tablet, revision)
    with clock.lap("work logged, proved"):
        known_boat.do_the_work(bench, job)
    with clock.lap("told, billed, paid, home"):
        steps.bill_and_let_go(desk, visit, due="253.96", to="Anna Berg")

    clock.report("(a) known boat")
    inputs, seconds = clock.laps["boat taken in, with keys and place"]
    assert (inputs <= MOST_INPUTS, seconds <= MOST_SECONDS) == (True, True)


def test_new_boat_is_here_within_two_minutes(
    open_browser: Callable[..., Watched], ilse: Person, tobiah: Person, clock: Clock
) -> None:
    """Journey (b)."""
    desk, bench = open_browser(1280), open_browser(768, 1024, has_touch=True)
    phone = open_browser(360, 800, has_touch=True)
    new_boat.sign_in(desk, ilse)
    new_boat.sign_in(bench, tobiah)

    with clock.lap("new boat, engine and customer taken in"):
        new_boat.open_work_order(desk)
    bench.page.reload()
    with clock.lap("cause found, with a photo"):
        bench.page.get_by_role("link", name="W-00001").first.click()
        new_boat.find_the_cause(bench)
    with clock.lap("quote of two options written"):
        new_boat.write_the_quote(desk)
    with clock.lap("sent to the phone"):
        address = own_phone.send_to_phone(desk)
    with clock.lap("read and signed by the customer"):
        own_phone.read(phone, address)
        new_boat.choose_and_sign(phone, finger=True)

    clock.report("(b) new customer")
    _, seconds = clock.laps["new boat, engine and customer taken in"]
    assert seconds <= MOST_SECONDS_NEW
