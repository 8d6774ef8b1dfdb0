"""What the killed processes do: open work orders one after the other, each behind its request key."""

import uuid
from itertools import count
from multiprocessing.connection import Connection

import django
from django.apps import apps

if not apps.ready:
    # the server that forks the writers loads this module once, so that each writer starts at once
    django.setup()

from datetime import UTC, datetime

from shopapp.actions import activity
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.numbering import take_number
from shopapp.actions.once import Request, once
from shopapp.models import Customer, Person, Vessel, WorkOrder

type Sent = tuple[int, int]


def request_of(sent: Sent) -> Request:
    """The request of one send: who sends (a number) and which of its sends it is."""
    writer, number = sent
    return Request(
        key=uuid.UUID(int=(writer << 64) + number), route="/arrivals/new/", payload_sha256="0" * 64
    )


def open_work_order(sent: Sent) -> str:
    """Open a work order as arrivals do: number, row, activity; returns where the answer would lead."""
    by = Actor(scope=Scope.SYSTEM, at=datetime.now(UTC))

    def effect() -> str:
        row = WorkOrder.objects.create(
            number=take_number("work_order"),
            vessel=Vessel.objects.get(),
            customer=Customer.objects.get(),
            complaint=f"{sent[0]}/{sent[1]}",
            opened_at=by.at,
            opened_by=Person.objects.get(),
        )
        activity.record([Entry(verb="open", record=row, facts={"number": row.number})], by=by)
        return f"/work-orders/{row.number}/"

    return once(request_of(sent), effect, by=by)


def write_until_killed(writer: int, begin: int, answers: Connection) -> None:
    """Send one after the other, and say of each that it was acknowledged, as the browser would see it."""
    for number in count(begin):
        location = open_work_order((writer, number))
        answers.send(((writer, number), location))
