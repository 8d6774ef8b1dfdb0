"""T30: entries of three tablets arrive mixed, doubled, their answers lost; the books hold each of them once.

The everyday run sends 60 on each database; ``-m soak -s`` 500, and says how long that took.
"""

import json
import random
import sys
import uuid
from collections import Counter
from datetime import datetime, timedelta
from itertools import batched
from time import perf_counter
from typing import Any

import pytest
from django.utils import timezone

from shopapp.models import ClockSpan, EntryState, Job, Person, Stage, TabletEntry
from shopapp.queries.entries import Sent
from tests.factories.devices import browser_of
from tests.factories.entries import Tablet, mark_of, tablet_of
from tests.factories.jobs import job_at
from tests.programmes import short_and_long

pytestmark = pytest.mark.django_db

CONTENTS: dict[str, dict[str, Any]] = {
    "part": {"description": "Plug gasket", "quantity": "2", "unit": "each"},
    "time": {"work": "repair", "hours": "0", "minutes": "30"},
    "fluid": {
        "point": "gearcase",
        "product": "Gear oil",
        "drained": "450",
        "filled": "500",
        "measure": "ml",
        "condition": "milky",
    },
    "note": {"text": "Line on the shaft"},
}
AT_ONCE = 20


def written(
    tablets: list[Tablet], jobs: list[Job], people: list[Person], *, count: int, rng: random.Random
) -> list[tuple[Tablet, Sent]]:
    """What three tablets hold after hours without a network: some taken back, some on a boat that went."""
    found: list[tuple[Tablet, Sent]] = []
    while len(found) < count:
        tablet, job, person = rng.choice(tablets), rng.choice(jobs), rng.choice(people)
        after = rng.uniform(0, 60)
        kind = rng.choice([*CONTENTS, "undo", "clock_on"])
        if kind == "undo":
            mine = [
                sent
                for one, sent in found
                if one is tablet and sent.written is not None
                if sent.written.person == person.pk and sent.written.kind in CONTENTS
            ]
            if not mine:
                continue
            content = {"entry": mark_of(rng.choice(mine))}
        else:
            content = CONTENTS.get(kind, {"mark": uuid.uuid4(), "work": "repair"})
        found.append((tablet, tablet.write(kind, job, person, content, after=after)))
    return found


def send(tablet: Tablet, sents: list[Sent], *, at: datetime) -> Any:
    told = [{"text": sent.text, "signature": sent.signature} for sent in sents]
    body = json.dumps({"sent_at": at.isoformat(), "entries": told})
    return browser_of(tablet.token).post("/bench/entries/", body, content_type="application/json")


def rows_of(jobs: list[Job]) -> Counter[tuple[int, str]]:
    """How many rows count on each job, by kind."""
    found: Counter[tuple[int, str]] = Counter()
    for job in jobs:
        books = {"part": job.partuseds, "time": job.timeentrys, "fluid": job.fluidentrys, "note": job.notes}
        for kind, rows in books.items():
            found[job.pk, kind] = rows.filter(struck_at=None, **_by_hand(kind)).count()
    return found


def _by_hand(kind: str) -> dict[str, Any]:
    """Hours that the clock made are counted by the clock."""
    return {"clock_span": None} if kind == "time" else {}


def expected_of(sents: list[Sent], *, gone: Job) -> Counter[tuple[int, str]]:
    """By a plain count of what was written: not what was taken back, nothing on the boat that has gone."""
    told = [sent.written for sent in sents if sent.written is not None]
    undone = {str(one.content["entry"]) for one in told if one.kind == "undo"}
    return Counter(
        (one.job or 0, one.kind)
        for one in told
        if one.kind in CONTENTS and str(one.id) not in undone and one.job != gone.pk
    )


@pytest.mark.parametrize("count", short_and_long(60, 500))
def test_entries_of_three_tablets_are_in_the_books_once_t30(
    maren: Person, tobiah: Person, wen: Person, count: int
) -> None:
    rng, began = random.Random(count), timezone.now() - timedelta(hours=2)
    jobs = [job_at(Stage.IN_HAND, technician=tobiah) for _ in range(5)]
    for job in jobs:
        job.assignments.create(person=wen)
    tablets = [tablet_of(maren, tobiah, wen, at=began, name=f"Tablet {n}") for n in range(3)]
    entries = written(tablets, jobs, [tobiah, wen], count=count, rng=rng)
    gone = jobs[-1]
    Job.objects.filter(pk=gone.pk).update(stage=Stage.GONE)

    # each comes twice, in any order, in batches whose answers may be lost
    order = entries * 2
    rng.shuffle(order)
    started = perf_counter()
    for tablet in tablets:
        for batch in batched([sent for one, sent in order if one is tablet], AT_ONCE):
            assert send(tablet, list(batch), at=timezone.now()).status_code == 200
    took = perf_counter() - started

    sents = [sent for _tablet, sent in entries]
    assert TabletEntry.objects.count() == count
    assert +rows_of(jobs) == expected_of(sents, gone=gone)
    reviewed = {entry.entry_id for entry in TabletEntry.objects.filter(state=EntryState.REVIEW)} | {
        entry.entry_id for entry in TabletEntry.objects.filter(state=EntryState.SET_ASIDE)
    }
    on_the_gone = {
        sent.written.id
        for sent in sents
        if sent.written is not None and sent.written.job == gone.pk and sent.written.kind != "undo"
    }
    assert reviewed == on_the_gone
    for tablet in tablets:
        tablet.device.refresh_from_db()
        assert (tablet.device.last_sequence, tablet.device.sequences_here) == (tablet.written,) * 2
    for person in (tobiah, wen):
        spans = list(ClockSpan.objects.filter(person=person).order_by("on_at"))
        assert [one.stopped_at for one in spans[:-1]] == [one.on_at for one in spans[1:]]
    sys.stdout.write(f"\n{count} entries, each twice: {took:.1f} s, {took / count / 2 * 1000:.0f} ms each\n")
