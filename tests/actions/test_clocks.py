"""The clock at a job: hours follow from what people say, in whatever order it reaches the shop."""

import random
import uuid
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.clocks import (
    ClockOffInput,
    ClockOnInput,
    CorrectInput,
    clock_off,
    clock_on,
    correct_span,
)
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.models import (
    ClockSpan,
    EntryState,
    Job,
    Person,
    ShopTime,
    Stage,
    TabletEntry,
    TimeEntry,
    TimeKind,
)
from tests.factories.entries import Tablet, tablet_of
from tests.factories.jobs import agreed_job, job_at, plan_line

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]


def after(actor: Actor, minutes: float) -> Actor:
    return replace(actor, at=actor.at + timedelta(minutes=minutes))


def on(job: Job | None, actor: Actor, *, kind: Any = TimeKind.REPAIR, line: int | None = None) -> uuid.UUID:
    mark = uuid.uuid4()
    clock_on(job.pk if job is not None else None, ClockOnInput(mark=mark, kind=kind, line=line), by=actor)
    return mark


def hours() -> list[tuple[str, int]]:
    """Who and how many minutes, of rows that count."""
    rows = TimeEntry.objects.filter(struck_at=None).order_by("happened_at", "pk")
    return list(rows.values_list("person__name", "minutes"))


def test_switching_jobs_ends_one_and_begins_the_other(tobiah: Person, by: By) -> None:
    one, two = (agreed_job(Stage.IN_HAND, technician=tobiah) for _ in range(2))
    line, me = plan_line(one, "labour"), by(tobiah)

    on(one, me, line=line.pk)
    mark = on(two, after(me, 95))
    clock_off(ClockOffInput(mark=mark), by=after(me, 120))

    rows = TimeEntry.objects.order_by("happened_at").values_list(
        "job", "minutes", "plan_line", "happened_at", "logged_by"
    )
    assert list(rows) == [
        (one.pk, 95, line.pk, me.at, tobiah.pk),
        (two.pk, 25, None, after(me, 95).at, tobiah.pk),
    ]


def test_two_people_are_on_one_job_at_once(tobiah: Person, wen: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    job.assignments.create(person=wen)

    marks = [on(job, by(tobiah)), on(job, after(by(wen), 30))]
    clock_off(ClockOffInput(mark=marks[0]), by=after(by(tobiah), 60))
    clock_off(ClockOffInput(mark=marks[1]), by=after(by(wen), 60))

    assert hours() == [("Tobiah Reyes", 60), ("Wen Okafor", 30)]


def test_time_of_the_shop_is_nobodys_job(tobiah: Person, by: By) -> None:
    job, me = job_at(Stage.IN_HAND, technician=tobiah), by(tobiah)

    on(job, me)
    mark = on(None, after(me, 20), kind=ShopTime.YARD)
    clock_off(ClockOffInput(mark=mark), by=after(me, 50))

    assert hours() == [("Tobiah Reyes", 20)]
    with pytest.raises(BadInput, match="without one"):
        on(job, after(me, 60), kind=ShopTime.YARD)
    with pytest.raises(BadInput, match="without one"):
        on(None, after(me, 60))


def test_earlier_word_that_comes_late_shortens_what_was_logged(tobiah: Person, by: By) -> None:
    one, two = (job_at(Stage.IN_HAND, technician=tobiah) for _ in range(2))
    me = by(tobiah)
    mark = on(one, me)
    clock_off(ClockOffInput(mark=mark), by=after(me, 120))

    late = on(two, after(me, 45))

    assert hours() == [("Tobiah Reyes", 45)]
    assert TimeEntry.objects.filter(struck_reason="the clock was put right").count() == 1
    assert ClockSpan.objects.get(mark=late).stopped_at is None


def test_off_waits_for_its_on(tobiah: Person, by: By) -> None:
    job, me, mark = job_at(Stage.IN_HAND, technician=tobiah), by(tobiah), uuid.uuid4()

    clock_off(ClockOffInput(mark=mark), by=after(me, 30))
    assert hours() == []
    clock_on(job.pk, ClockOnInput(mark=mark, kind=TimeKind.REPAIR), by=me)

    assert hours() == [("Tobiah Reyes", 30)]


def test_same_word_twice_is_one_word(tobiah: Person, by: By) -> None:
    job, me, mark = job_at(Stage.IN_HAND, technician=tobiah), by(tobiah), uuid.uuid4()

    for _ in range(2):
        clock_on(job.pk, ClockOnInput(mark=mark, kind=TimeKind.REPAIR), by=me)
    for minutes in (30, 40):
        clock_off(ClockOffInput(mark=mark), by=after(me, minutes))

    assert (hours(), ClockSpan.objects.count()) == ([("Tobiah Reyes", 30)], 1)


def test_forgotten_clock_counts_once_the_desk_put_it_right(tobiah: Person, ilse: Person, by: By) -> None:
    job, me, desk = job_at(Stage.IN_HAND, technician=tobiah), by(tobiah), after(by(ilse), 2000)
    mark = on(job, me)
    clock_off(ClockOffInput(mark=mark), by=after(me, 13 * 60))
    span = ClockSpan.objects.get()

    assert hours() == []
    with pytest.raises(NotAllowed):
        correct_span(span.pk, CorrectInput(off_at=after(me, 90).at, reason="asked him"), by=after(me, 2000))
    for minutes in (0, -5, 25 * 60, 3000):
        with pytest.raises(BadInput, match="after the clock began"):
            correct_span(span.pk, CorrectInput(off_at=after(me, minutes).at, reason="asked him"), by=desk)
    with pytest.raises(BadInput, match="how it is known"):
        correct_span(span.pk, CorrectInput(off_at=after(me, 90).at, reason=" "), by=desk)
    correct_span(span.pk, CorrectInput(off_at=after(me, 90).at, reason="asked him"), by=desk)

    assert hours() == [("Tobiah Reyes", 90)]
    span.refresh_from_db()
    assert (span.corrected_by, span.corrected_reason) == (ilse, "asked him")
    with pytest.raises(Refused, match="put right a moment ago"):
        correct_span(span.pk, CorrectInput(off_at=after(me, 91).at, reason="again"), by=desk)


def test_late_word_changes_hours_that_the_desk_put_right(tobiah: Person, ilse: Person, by: By) -> None:
    one, two = (job_at(Stage.IN_HAND, technician=tobiah) for _ in range(2))
    me = by(tobiah)
    on(one, me)
    corrected = CorrectInput(off_at=after(me, 90).at, reason="asked him")
    correct_span(ClockSpan.objects.get().pk, corrected, by=after(by(ilse), 2000))

    on(two, after(me, 60))

    assert hours() == [("Tobiah Reyes", 60)]


def test_hours_are_logged_only_where_work_is(tobiah: Person, by: By) -> None:
    job = job_at(Stage.HERE, technician=tobiah)

    with pytest.raises(Refused, match="from diagnosis to test"):
        on(job, by(tobiah))
    assert not ClockSpan.objects.exists()


def test_any_order_of_words_gives_the_same_hours(
    maren: Person, tobiah: Person, wen: Person, now: datetime
) -> None:
    """Two people, two tablets, nobody connected: the day's words arrive mixed and doubled (T30)."""
    rng = random.Random(77)
    jobs = [job_at(Stage.IN_HAND, technician=tobiah) for _ in range(3)]
    for job in jobs:
        job.assignments.create(person=wen)
    tablets = [tablet_of(maren, tobiah, wen, at=now, name=name) for name in ("one", "two")]
    sents: list[tuple[Tablet, Any]] = []
    expected: dict[str, int] = {}
    for person in (tobiah, wen):
        moments = sorted(rng.sample(range(1, 170), 8))
        for number, (began, ended) in enumerate(zip(moments, [*moments[1:], 175], strict=True)):
            tablet, mark = rng.choice(tablets), uuid.uuid4()
            job = jobs[number % 3]
            content = {"mark": mark, "work": "repair"}
            sents.append((tablet, tablet.write("clock_on", job, person, content, after=began)))
            stops = rng.random() < 0.5 or ended == 175
            pause = rng.randrange(began, ended) if stops and ended != 175 else ended
            if stops:
                off = tablet.write("clock_off", None, person, {"mark": mark}, after=pause)
                sents.append((tablet, off))
            expected[person.name] = expected.get(person.name, 0) + pause - began
    order = sents * 2
    rng.shuffle(order)

    for tablet, sent in order:
        tablet.take(sent)

    told: dict[str, int] = {}
    for name, minutes in hours():
        told[name] = told.get(name, 0) + minutes
    assert told == expected
    assert not TabletEntry.objects.exclude(state=EntryState.STORED).exists()
