"""Clocks of two people in any order of words: no two stretches overlap, and the hours add up to the minute.

The oracle goes through the day minute by minute and asks of each what the person was on then; it knows
neither stretches nor their ends.
"""

import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import strategies as st
from hypothesis.stateful import initialize, invariant, rule

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.clocks import (
    ClockOffInput,
    ClockOnInput,
    CorrectInput,
    clock_off,
    clock_on,
    correct_span,
)
from shopapp.actions.refusals import Refused
from shopapp.calc.errors import BadInput
from shopapp.models import ClockSpan, Job, Person, ShopTime, Stage, TimeEntry, TimeKind
from tests.factories import PersonFactory, found_shop
from tests.factories.jobs import job_at
from tests.states.running import ShopMachine, run

# the shop's day in question: 7:00 to 23:59 of Vancouver
DAY = datetime.fromisoformat("2026-06-02T14:00:00+00:00")
MINUTES = st.integers(0, 1_019)
WHO = st.sampled_from([0, 1])
LONGEST = 12 * 60


@dataclass(kw_only=True)
class Word:
    """What was said under a mark: when on and on what, and when off."""

    person: int
    on: int | None = None
    off: int | None = None
    job: int | None = None
    is_corrected: bool = False


class Clocks(ShopMachine):
    """Words of two people about three jobs and the yard."""

    def __init__(self) -> None:
        super().__init__()
        self.words: dict[uuid.UUID, Word] = {}

    @initialize()
    def shop_is_open(self) -> None:
        found_shop()
        self.ilse = PersonFactory.create(username="ilse", name="Ilse Brandt")
        names = (("tobiah", "Tobiah Reyes"), ("wen", "Wen Okafor"))
        self.people: list[Person] = [
            PersonFactory.create(username=username, name=name, is_technician=True) for username, name in names
        ]
        self.jobs: list[Job] = [job_at(Stage.IN_HAND, technician=self.people[0]) for _ in range(3)]
        for job in self.jobs:
            job.assignments.create(person=self.people[1])

    def _by(self, person: Person, minute: int) -> Actor:
        at = DAY + timedelta(minutes=minute)
        return Actor(scope=Scope.BENCH, person=person, at=at, received_at=DAY + timedelta(days=2))

    @rule(who=WHO, minute=MINUTES, what=st.sampled_from([0, 1, 2, None]))
    def says_on(self, who: int, minute: int, what: int | None) -> None:
        if any(word.on == minute and word.person == who for word in self.words.values()):
            return
        mark = uuid.uuid4()
        self._on(mark, Word(person=who, on=minute, job=what))

    @rule(who=WHO, minute=MINUTES, on=MINUTES, what=st.sampled_from([0, 1, 2, None]))
    def says_off_before_on_came(self, who: int, minute: int, on: int, what: int | None) -> None:
        if any(word.on == on and word.person == who for word in self.words.values()):
            return
        mark = uuid.uuid4()
        clock_off(ClockOffInput(mark=mark), by=self._by(self.people[who], minute))
        self._on(mark, Word(person=who, on=on, off=minute, job=what))

    def _on(self, mark: uuid.UUID, word: Word) -> None:
        kind: Any = TimeKind.REPAIR if word.job is not None else ShopTime.YARD
        job_pk = self.jobs[word.job].pk if word.job is not None else None
        for _twice in range(2):
            clock_on(
                job_pk,
                ClockOnInput(mark=mark, kind=kind),
                by=self._by(self.people[word.person], word.on or 0),
            )
        self.words[mark] = word

    @rule(pick=st.integers(0, 30), minute=MINUTES)
    def says_off(self, pick: int, minute: int) -> None:
        open_marks = [mark for mark, word in self.words.items() if word.off is None]
        if not open_marks:
            return
        mark = open_marks[pick % len(open_marks)]
        word = self.words[mark]
        clock_off(ClockOffInput(mark=mark), by=self._by(self.people[word.person], minute))
        word.off = minute

    @rule(pick=st.integers(0, 30), minute=MINUTES)
    def desk_puts_right(self, pick: int, minute: int) -> None:
        if not self.words:
            return
        mark = list(self.words)[pick % len(self.words)]
        span = ClockSpan.objects.get(mark=mark)
        desk = Actor(scope=Scope.DESK, person=self.ilse, at=DAY + timedelta(days=2))
        data = CorrectInput(off_at=DAY + timedelta(minutes=minute), reason="asked")
        try:
            correct_span(span.pk, data, by=desk)
        except (BadInput, Refused):
            return
        self.words[mark].off, self.words[mark].is_corrected = minute, True

    def _expected(self, who: int) -> dict[int, int]:
        """Minutes of each job by asking of every minute what was said last before it and not yet ended."""
        mine = [(word.on or 0, str(mark), word) for mark, word in self.words.items() if word.person == who]
        on_what: dict[str, list[int]] = {}
        for minute in range(1_020 + 1):
            begun = [one for one in mine if one[0] <= minute]
            if not begun:
                continue
            _on, mark, word = max(begun, key=lambda one: one[0])
            if word.off is None or minute < word.off:
                on_what.setdefault(mark, []).append(minute)
        found: dict[int, int] = {}
        for _on, mark, word in mine:
            minutes = len(on_what.get(mark, []))
            runs = word.off is None and not any(other[0] > (word.on or 0) for other in mine)
            is_forgotten = minutes > LONGEST and not word.is_corrected
            if word.job is not None and not runs and not is_forgotten:
                found[word.job] = found.get(word.job, 0) + minutes
        return {job: minutes for job, minutes in found.items() if minutes}

    @invariant()
    def hours_are_those_of_the_words(self) -> None:
        if not self.words:
            return
        for who, person in enumerate(self.people):
            told: dict[int, int] = {}
            for entry in TimeEntry.objects.filter(person=person, struck_at=None):
                place = [job.pk for job in self.jobs].index(entry.job_id)
                told[place] = told.get(place, 0) + entry.minutes
            assert told == self._expected(who)

    @invariant()
    def nobody_is_on_two_things(self) -> None:
        if not self.words:
            return
        for person in self.people:
            spans = list(
                ClockSpan.objects.filter(person=person, on_at__isnull=False).order_by("on_at", "mark")
            )
            ends = [one.stopped_at for one in spans]
            assert all(end is not None for end in ends[:-1])
            assert all(end <= after.on_at for end, after in zip(ends, spans[1:], strict=False) if end)


@pytest.mark.django_db
def test_clocks_hold_whatever_order_the_words_come_in() -> None:
    run(Clocks, runs=4, steps=20)
