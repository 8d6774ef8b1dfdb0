"""Processes are killed in the middle of visits: what was acknowledged is stored, nothing half, nothing twice.

What each step leaves behind is taken from a visit in which nobody was killed. ``-m soak -s`` kills 300 times
on SQLite and 150 times on PostgreSQL, in two processes at once; SHOPAPP_FAULT_ROUNDS says otherwise.
"""

import multiprocessing
import os
import random
import sys
import time
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait

import pytest
from django.db import connection

from shopapp.actions import answers
from shopapp.actions.activity import first_bad_link
from shopapp.models import Activity, Person, RequestKey
from tests.factories import VesselFactory
from tests.faults import writers
from tests.faults.visits import STEPS
from tests.processes import surroundings
from tests.states.oracle import Habits
from tests.states.truths import check_invoices, check_numbers, check_stages
from tests.web.shared.hostile import row_counts

ROUNDS = int(os.environ.get("SHOPAPP_FAULT_ROUNDS", "20"))
MOST_ROUNDS = {"sqlite": 300, "postgresql": 150}
WRITERS = (1, 2)
MOST_ANSWERS = 12
LONGEST_PAUSE = 0.04

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


def start(writer: int, begin: int, *, pause: float = 0) -> Writer:
    answers, own_end = forked.Pipe(duplex=False)
    process = forked.Process(
        target=writers.write_until_killed, args=(writer, begin, own_end, pause), daemon=True
    )
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
    try:
        answered = heard(running, most=chance.randrange(1, MOST_ANSWERS))
        for one in running:
            time.sleep(chance.uniform(0, LONGEST_PAUSE))
            one.process.kill()
    finally:
        # also when one of them ended by itself: who still writes would hold the next test's tables
        for one in running:
            one.process.kill()
            one.process.join(30)
    for one in running:
        answered += rest_of(one)
        one.answers.close()
    return answered


def verbs() -> Counter[str]:
    """How often each thing is told of in the activity log."""
    return Counter(Activity.objects.values_list("verb", flat=True))


def rows() -> Counter[str]:
    """How many rows each table has, but those that are there once for all."""
    return Counter({name: many for name, many in row_counts().items() if name != "NumberSeries"})


@dataclass(frozen=True)
class Step:
    """What one step of a visit leaves behind where nobody is killed."""

    verbs: Counter[str]
    rows: Counter[str]


def undisturbed() -> list[Step]:
    """The steps of the second visit of a writer of this process: the first one sets up what is there once."""
    found = []
    for number in range(2 * len(STEPS)):
        told, there = verbs(), rows()
        writers.write((0, number))
        found.append(Step(verbs() - told, rows() - there))
    return found[len(STEPS) :]


def total(parts: Iterable[Counter[str]]) -> Counter[str]:
    return sum(parts, Counter())


@pytest.mark.parametrize(
    "kills", [ROUNDS, pytest.param(MOST_ROUNDS[connection.vendor], marks=pytest.mark.soak)]
)
@pytest.mark.usefixtures("_writers_see_this_database")
def test_killed_writers_lose_and_repeat_nothing_t19_t25(ilse: Person, tobiah: Person, kills: int) -> None:
    VesselFactory()
    usual, chance = undisturbed(), random.Random(kills)
    told, there = verbs(), rows()
    acknowledged: dict[writers.Sent, str] = {}
    begins = dict.fromkeys(WRITERS, 0)

    for _ in range(kills):
        for sent, answer in killed_round(begins, chance=chance):
            acknowledged[sent] = answer
        # like a browser without an answer: the first send that was not acknowledged is sent again
        begins = {
            writer: 1 + max([n for w, n in acknowledged if w == writer], default=-1) for writer in WRITERS
        }
    for sent in begins.items():
        acknowledged[sent] = writers.sent_until_taken(sent)

    steps = Counter(number % len(STEPS) for _, number in acknowledged)
    done = [usual[step] for step in steps.elements()]
    keys = {row.key: row.location for row in RequestKey.objects.exclude(key__in=OWN_KEYS)}
    sys.stdout.write(f"{connection.vendor}: {2 * kills} killed, {len(acknowledged)} acknowledged, {steps}\n")
    assert keys == {writers.request_of(sent).key: answer for sent, answer in acknowledged.items()}
    assert verbs() - told == total(step.verbs for step in done)
    assert rows() - there == total(step.rows for step in done)
    assert first_bad_link() is None
    check_numbers()
    check_invoices(Habits())
    assert answers.first_unfaithful_answer() is None
    check_stages()


OWN_KEYS = [writers.request_of((0, number)).key for number in range(2 * len(STEPS))]
