"""What the killed processes do: one visit after the other, each of its steps behind a request key."""

import time
import uuid
from itertools import count
from multiprocessing.connection import Connection

import django
from django.apps import apps

if not apps.ready:
    # the server that forks the writers loads this module once, so that each writer starts at once
    django.setup()

from datetime import UTC, datetime

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.once import Request, once
from shopapp.actions.refusals import Busy
from tests.faults.visits import STEPS, Boat

type Sent = tuple[int, int]


def request_of(sent: Sent) -> Request:
    """The request of one send: who sends (a number) and which of its sends it is."""
    writer, number = sent
    return Request(key=uuid.UUID(int=(writer << 64) + number), route="/some/form/", payload_sha256="0" * 64)


def write(sent: Sent) -> str:
    """The step of a visit that this send is; returns what its answer would say."""
    visit, step = divmod(sent[1], len(STEPS))
    boat = Boat(f"{sent[0]}/{visit}")
    by = Actor(scope=Scope.SYSTEM, at=datetime.now(UTC))
    return once(request_of(sent), lambda: STEPS[step](boat), by=by)


def write_until_killed(writer: int, begin: int, answers: Connection, pause: float) -> None:
    for number in count(begin):
        answers.send(((writer, number), sent_until_taken((writer, number))))
        time.sleep(pause)


def sent_until_taken(sent: Sent) -> str:
    """Like a person who is told that somebody else is just saving: the same form again."""
    while True:
        try:
            return write(sent)
        except Busy:
            continue
