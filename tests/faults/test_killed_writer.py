"""Processes are killed while they write: what was acknowledged is stored, nothing half, nothing twice.

SHOPAPP_FAULT_ROUNDS=300 makes it a long run by hand.
"""

import multiprocessing
import os
import random
import time
from collections import Counter
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait

import pytest

from shopapp.actions.activity import first_bad_link
from shopapp.models import Activity, NumberSeries, Person, RequestKey, WorkOrder
from tests.factories import VesselFactory
from tests.faults import writers
from tests.processes import surroundings

ROUNDS = int(os.environ.get("SHOPAPP_FAULT_ROUNDS", "20"))
WRITERS = (1, 2)
MOST_ANSWERS = 12
LONGEST_PAUSE = 0.004

forked = multiprocessing.get_context("forkserver")


@dataclass
class Writer:
    """A process that writes, and the end of the pipe at which its acknowledgements arrive."""

    process: multiprocessing.process.BaseProcess
    answers: Connection


@pytest.fixture
def _writers_see_this_database(monkeypatch: pytest.MonkeyPatch, transactional_db: None) -> None:
    for name, value in surroundings().items():
        monkeypatch.setenv(name, value)
    forked.set_forkserver_preload(["tests.faults.writers"])


def start(writer: int, begin: int) -> Writer:
    answers, own_end = forked.Pipe(duplex=False)
    process = forked.Process(target=writers.write_until_killed, args=(writer, begin, own_end), daemon=True)
    process.start()
    own_end.close()
    return Writer(process=process, answers=answers)


def heard(running: list[Writer], *, most: int) -> list[tuple[writers.Sent, str]]:
    """The first acknowledgements, until there are enough of them."""
    found: list[tuple[writers.Sent, str]] = []
    while len(found) < most:
        ready = wait([one.answers for one in running], timeout=30)
        assert ready, "the writers are silent"
        found += [one.answers.recv() for one in running if one.answers in ready]
    return found


def rest_of(one: Writer) -> list[tuple[writers.Sent, str]]:
    """What had been acknowledged before the end, but not heard yet."""
    found = []
    try:
        while True:
            found.append(one.answers.recv())
    except EOFError:
        return found


def killed_round(begins: dict[int, int], *, chance: random.Random) -> list[tuple[writers.Sent, str]]:
    """Writers write at the same time and are killed at some moment; what they acknowledged."""
    running = [start(writer, begin) for writer, begin in begins.items()]
    answered = heard(running, most=chance.randrange(1, MOST_ANSWERS))
    for one in running:
        time.sleep(chance.uniform(0, LONGEST_PAUSE))
        one.process.kill()
    for one in running:
        one.process.join(30)
        answered += rest_of(one)
        one.answers.close()
    return answered


@pytest.mark.usefixtures("_writers_see_this_database")
def test_killed_writers_lose_and_repeat_nothing_t19_t25() -> None:
    VesselFactory()
    Person.objects.create(username="ilse", name="Ilse Brandt")
    chance, acknowledged = random.Random(20), {}
    begins = dict.fromkeys(WRITERS, 0)

    for _ in range(ROUNDS):
        for sent, location in killed_round(begins, chance=chance):
            acknowledged[sent] = location
        # like a browser without an answer: the first send that was not acknowledged is sent again
        begins = {
            writer: 1 + max([n for w, n in acknowledged if w == writer], default=-1) for writer in WRITERS
        }
    for sent in begins.items():
        acknowledged[sent] = writers.open_work_order(sent)

    stored = {row.key: row.location for row in RequestKey.objects.all()}
    assert stored == {writers.request_of(sent).key: where for sent, where in acknowledged.items()}
    assert_nothing_half_or_twice(acknowledged)


def assert_nothing_half_or_twice(acknowledged: dict[writers.Sent, str]) -> None:
    orders = dict(WorkOrder.objects.values_list("complaint", "number"))
    numbers = [f"W-{value:05d}" for value in range(1, len(acknowledged) + 1)]
    logged = Counter(Activity.objects.values_list("payload", flat=True))

    assert {f"/work-orders/{orders[f'{w}/{n}']}/" for w, n in acknowledged} == set(acknowledged.values())
    assert sorted(WorkOrder.objects.values_list("number", flat=True)) == numbers
    assert logged == {f'{{"number": "{number}"}}': 1 for number in numbers}
    assert NumberSeries.objects.get().next_value == len(numbers) + 1
    assert first_bad_link() is None
