"""Three tablets log where nobody hears them; the shop's computer dies in the worst moments (T19, T30).

Real browsers, the shop's own server, kill -9. The everyday run types 18 entries on two boats, ``-m soak -s``
500 on four, and says how long they took to arrive.
"""

import json
import random
import sys
from collections import Counter
from collections.abc import Callable
from time import perf_counter
from typing import Any

import pytest
from django.db import connection
from django.utils import timezone

from shopapp.actions.activity import first_bad_link
from shopapp.models import ClockSpan, EntryState, Job, JobAssignment, Person, Stage, TabletEntry, TimeEntry
from shopapp.web.shared.tablets import cookie_name
from tests.factories.devices import browser_of
from tests.factories.jobs import job_at
from tests.journeys.canaries import found_of, plant
from tests.journeys.conftest import Watched
from tests.journeys.servers import ShopServer
from tests.journeys.tablets import dump, give_pin, make_tablet, unsent, wait_until_kept
from tests.journeys.typists import Typed, Typist
from tests.programmes import short_and_long

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

ENTRIES = "/bench/entries/"
SIZES = ((768, 1024), (360, 800), (768, 1024))
# what 500 entries of three tablets may take, from the first answer to the last
MOST_S = 60
MANY = 100
# rows that hold what was typed, and where the mark stands in them
BOOKS = {
    "part": ("partuseds", "description"),
    "note": ("notes", "text"),
    "fluid": ("fluidentrys", "point"),
    "reading": ("readings", "remark"),
    "photo": ("photos", "caption"),
}


def typists_of(
    open_tablet: Callable[..., Watched], owner: Person, crews: list[list[Person]], jobs: list[Job]
) -> list[Typist]:
    """Each tablet with the people who gave their PIN there, and the pages of all jobs kept."""
    found = []
    for number, (size, crew) in enumerate(zip(SIZES, crews, strict=False)):
        tablet = open_tablet(*size, has_touch=True)
        make_tablet(tablet, owner=owner, name=f"Tablet {number}")
        for person in crew:
            give_pin(tablet, person)
            wait_until_kept(tablet, person, pages=len(jobs) + 1)
        found.append(
            Typist(
                name="ABC"[number],
                tablet=tablet,
                people=crew,
                jobs=jobs,
                rng=random.Random(number),
                who=len(crew) - 1,
            )
        )
    return found


def log_all(typists: list[Typist], *, count: int, rng: random.Random) -> None:
    """Out of reach: on any boat, in tabs that are closed, by people who take turns."""
    while sum(len(one.typed) for one in typists) < count:
        typist = rng.choice(typists)
        if rng.random() < 0.3:
            typist.open_tab()
        if len(typist.people) > 1 and rng.random() < 0.3:
            typist.hands_over()
        typist.writes(min(6, count - sum(len(one.typed) for one in typists)))


def waiting_in(typist: Typist) -> list[dict[str, Any]]:
    """What the browser itself has stored and not sent, in the order in which it counted."""
    rows = dump(typist.tablet)["databases"]["shop-bench"]["entries"]
    return sorted((row for row in rows if "waiting" in row), key=lambda row: row["sequence"])


def check_kept(typist: Typist) -> list[dict[str, Any]]:
    """Everything that was typed is on the tablet, once, under the name of whoever typed it."""
    rows = waiting_in(typist)
    assert [row["sequence"] for row in rows] == list(range(1, typist.sent + 1))
    said = [row for row in rows if row["kind"] != "undo"]
    told = [(row["kind"], row["job"], row["person"]) for row in said]
    assert told == [(one.kind, one.job, one.person.pk) for one in typist.typed]
    for one, row in zip(typist.typed, said, strict=True):
        assert one.mark in row["text"] or one.kind not in BOOKS
        one.sequence = row["sequence"]
    return rows


def send_doubles(typist: Typist, rows: list[dict[str, Any]], *, rng: random.Random) -> None:
    """Some entries come over another way, in any order, before the tablet has sent one: a copy of the air."""
    said = [row for row in rows if row["kind"] != "photo"]
    some = rng.sample(said, k=min(len(said), 10) // 2)
    if not some:
        return
    token = next(one["value"] for one in typist.context.cookies() if one["name"] == cookie_name())
    told = [{"text": row["text"], "signature": row["signature"]} for row in some]
    body = json.dumps({"sent_at": timezone.now().isoformat(), "entries": told})
    answer = browser_of(token.strip('"')).post(ENTRIES, body, content_type="application/json")
    assert answer.status_code == 200


def die_while_they_send(server: ShopServer, typists: list[Typist], *, path: str) -> None:
    """One tablet is heard, its entries committed, and its answer never sent."""
    server.start_to_die(path)
    for typist in typists:
        typist.context.set_offline(False)
        send(typist)
        if server.has_died(within_s=90):
            break
    assert server.has_died(within_s=0)


def send(typist: Typist) -> None:
    typist.page.evaluate("window.dispatchEvent(new Event('online'))")


def all_arrive(typists: list[Typist]) -> float:
    """Seconds until no tablet has anything left."""
    begun = perf_counter()
    for typist in typists:
        typist.context.set_offline(False)
        typist.page.reload()
    for typist in typists:
        unsent(typist.tablet, 0)
    return perf_counter() - begun


def rows_in_books(jobs: list[Job]) -> Counter[tuple[int, str, int, str]]:
    """Job, kind, who, and the words in which the mark stands, of each row that counts."""
    found: Counter[tuple[int, str, int, str]] = Counter()
    for kind, (rows, words) in BOOKS.items():
        who = {"note": "written_by_id", "photo": "taken_by_id"}.get(kind, "logged_by_id")
        counts = {} if kind == "photo" else {"struck_at": None}
        for job in jobs:
            counted = getattr(job, rows).filter(**counts)
            found.update((job.pk, kind, *one) for one in counted.values_list(who, words))
    return found


def rows_typed(typed: list[Typed], *, gone: Job) -> Counter[tuple[int, str, int, str]]:
    """The same by what people remember."""
    prefix = {"part": "Gasket ", "note": "Line on the shaft ", "fluid": "gearcase ", "reading": "at rest "}
    return Counter(
        (one.job, one.kind, one.person.pk, prefix.get(one.kind, "Oil ") + one.mark)
        for one in typed
        if one.kind in BOOKS and not one.is_undone and one.job != gone.pk
    )


def check_hours(typed: list[Typed], jobs: list[Job], *, gone: Job) -> None:
    """Hours by hand are counted; on the clock nobody is at two boats at once, and everything counts."""
    counted = [one for one in typed if one.job != gone.pk]
    by_hand = Counter(one.job for one in counted if one.kind == "time")
    # a stretch of the clock that later words cut anew leaves its first row struck out
    rows = TimeEntry.objects.filter(clock_span=None, struck_at=None)
    assert Counter(rows.values_list("job_id", flat=True)) == by_hand
    begun = Counter(
        (one.person.pk, one.job) for one in typed if one.kind == "clock_on" and one.job != gone.pk
    )
    spans = ClockSpan.objects.order_by("on_at")
    assert Counter(spans.values_list("person_id", "job_id")) == begun
    for person in {one.person.pk for one in typed}:
        mine = list(spans.filter(person=person))
        assert [one.stopped_at for one in mine[:-1]] == [one.on_at for one in mine[1:]]


def check_counts(typists: list[Typist]) -> None:
    """Each number of each tablet came once, none is missing, and the chain of what was done is whole."""
    assert sorted(TabletEntry.objects.values_list("device__name", "sequence")) == sorted(
        (f"Tablet {number}", sequence)
        for number, typist in enumerate(typists)
        for sequence in range(1, typist.sent + 1)
    )
    assert first_bad_link() is None


def check_review(typists: list[Typist], *, gone: Job) -> None:
    """On the desk's list is what was logged on the boat that had gone, and nothing else."""
    kept = TabletEntry.objects.filter(state__in=[EntryState.REVIEW, EntryState.SET_ASIDE])
    assert sorted(kept.values_list("device__name", "sequence")) == sorted(
        (f"Tablet {number}", one.sequence)
        for number, typist in enumerate(typists)
        for one in typist.typed
        if one.job == gone.pk
    )


def die_again_and_again(
    server: ShopServer, typists: list[Typist], *, paths: list[str], rng: random.Random
) -> None:
    """Between commit and answer, in the middle of sending, and with tabs that are closed meanwhile."""
    for path in paths:
        die_while_they_send(server, rng.sample(typists, k=len(typists)), path=path)
    server.start()
    for typist in typists:
        send(typist)
    server.kill()
    for typist in typists:
        typist.open_tab()


@pytest.mark.parametrize("count", short_and_long(18, 500))
def test_each_entry_arrives_once_however_often_the_shop_dies_t30(
    open_tablet: Callable[..., Watched], server: ShopServer, maren: Person, crew: list[Person], count: int
) -> None:
    rng = random.Random(count)
    jobs = [job_at(Stage.IN_HAND, technician=crew[0]) for _ in range(2 if count < MANY else 4)]
    JobAssignment.objects.bulk_create(JobAssignment(job=job, person=crew[1]) for job in jobs)
    priced = job_at(Stage.IN_HAND, technician=crew[0])
    planted = plant([priced, *jobs])
    typists = typists_of(open_tablet, maren, [crew[:1], crew[1:], crew], jobs)

    # one of them notices that the network is gone, the others only that nobody answers
    typists[0].context.set_offline(True)
    server.kill()
    log_all(typists, count=count, rng=rng)
    kept = [check_kept(typist) for typist in typists]
    gone = jobs[-1]
    Job.objects.filter(pk=gone.pk).update(stage=Stage.GONE)
    for typist, rows in zip(typists, kept, strict=True):
        send_doubles(typist, rows, rng=rng)
    paths = [ENTRIES] if count < MANY else [ENTRIES, "/bench/photo/", ENTRIES]
    die_again_and_again(server, typists, paths=paths, rng=rng)
    server.start()
    took = all_arrive(typists)

    typed = [one for typist in typists for one in typist.typed]
    assert len(typed) == count
    check_counts(typists)
    assert rows_in_books(jobs) == rows_typed(typed, gone=gone)
    check_hours(typed, jobs, gone=gone)
    check_review(typists, gone=gone)
    assert [found_of(planted, typist.tablet) for typist in typists] == [[], [], []]
    sys.stdout.write(f"{connection.vendor}: {count} entries, the last of them within {took:.1f} s\n")


@pytest.mark.soak
def test_five_hundred_entries_arrive_within_a_minute(
    open_tablet: Callable[..., Watched], server: ShopServer, maren: Person, crew: list[Person]
) -> None:
    jobs = [job_at(Stage.IN_HAND, technician=crew[0]) for _ in range(4)]
    JobAssignment.objects.bulk_create(JobAssignment(job=job, person=crew[1]) for job in jobs)
    typists = typists_of(open_tablet, maren, [crew[:1], crew[1:], crew], jobs)
    server.kill()
    log_all(typists, count=500, rng=random.Random(7))

    server.start()
    took = all_arrive(typists)
    check_counts(typists)
    sys.stdout.write(f"{connection.vendor}: {sum(one.sent for one in typists)} entries in {took:.1f} s\n")
    assert took < MOST_S
