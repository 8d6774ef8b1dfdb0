"""The outbox of a tablet: whatever is lost on the way, doubled or overtaken, each entry is in the shop once.

The oracle keeps what people wrote and when each entry was first heard, and reckons from that alone what must
be in the books and what on the desk's list.
"""

from dataclasses import dataclass
from typing import Any

import pytest
from hypothesis import strategies as st
from hypothesis.stateful import initialize, invariant, rule

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.entries import SettleInput, settle_entry
from shopapp.models import EntryState, Job, JobNote, PartUsed, Person, Stage, TabletEntry
from shopapp.queries.entries import Sent, missing_of
from shopapp.web.bench.kinds import wanted_by
from tests.conftest import NOW
from tests.factories import PersonFactory, found_shop
from tests.factories.entries import mark_of, tablet_of
from tests.factories.jobs import job_at
from tests.states.running import ShopMachine, run

pytestmark = pytest.mark.django_db

WHO = st.sampled_from([0, 0, 1, None])
PLACE = st.sampled_from([0, 0, 1])
PICK = st.integers(0, 30)
WAITS, STORED, REVIEW, TAKEN, ASIDE = "waits", "stored", "review", "taken", "set_aside"


@dataclass(kw_only=True)
class Told:
    """One entry as it was written, and what became of it by the oracle."""

    sent: Sent
    kind: str
    who: int | None
    job: int
    undoes: int | None = None
    is_out: bool = True
    state: str = WAITS
    # its row was struck out, or would have been had there been one
    is_back: bool = False


class Outboxes(ShopMachine):
    """Two people and somebody unknown at one tablet; a boat that goes and comes back; a person who leaves."""

    def __init__(self) -> None:
        super().__init__()
        self.told: list[Told] = []

    @initialize()
    def shop_is_open(self) -> None:
        found_shop()
        self.ilse = PersonFactory.create(username="ilse", name="Ilse Brandt")
        names = (("tobiah", "Tobiah Reyes"), ("wen", "Wen Okafor"))
        self.people: list[Person] = [
            PersonFactory.create(username=username, name=name, is_technician=True) for username, name in names
        ]
        self.jobs: list[Job] = [job_at(Stage.IN_HAND, technician=self.people[0]) for _ in range(2)]
        for job in self.jobs:
            job.assignments.create(person=self.people[1])
        self.is_gone, self.works = [False, False], [True, True]
        self.tablet = tablet_of(PersonFactory.create(is_owner=True), *self.people, at=NOW)

    # -- at the tablet ---------------------------------------------------------------------------------

    @rule(who=WHO, job=PLACE, kind=st.sampled_from(["part", "note"]))
    def writes(self, who: int | None, job: int, kind: str) -> None:
        mark = f"mark {len(self.told)}"
        content = {"description": mark, "quantity": "1", "unit": "each"} if kind == "part" else {"text": mark}
        self._write(who, job, kind, content)

    @rule(pick=PICK)
    def takes_back(self, pick: int) -> None:
        mine = [n for n, one in enumerate(self.told) if one.undoes is None and one.who is not None]
        mine = [n for n in mine if all(one.undoes != n for one in self.told)]
        if mine:
            other = mine[pick % len(mine)]
            told = self.told[other]
            self._write(told.who, told.job, "undo", {"entry": mark_of(told.sent)}, undoes=other)

    def _write(
        self, who: int | None, job: int, kind: str, content: dict[str, Any], *, undoes: int | None = None
    ) -> None:
        person = self.people[who] if who is not None else None
        sent = self.tablet.write(kind, self.jobs[job], person, content, after=len(self.told) / 10)
        self.told.append(Told(sent=sent, kind=kind, who=who, job=job, undoes=undoes))

    @rule(order=st.permutations(range(6)), most=st.integers(1, 6), heard=st.integers(0, 6))
    def sends(self, order: list[int], most: int, heard: int) -> None:
        """Some of what waits, in any order; the shop dies after some, or the answer is lost after all."""
        out = [one for one in self.told if one.is_out]
        some = [out[n] for n in order if n < len(out)][:most]
        is_answered = heard >= most
        for one in some if is_answered else some[:heard]:
            self._heard(one)
            one.is_out = not is_answered and one.is_out

    @rule(pick=PICK)
    def comes_once_more(self, pick: int) -> None:
        """A copy that was long under way."""
        if self.told:
            self._heard(self.told[pick % len(self.told)])

    def _heard(self, one: Told) -> None:
        row = self.tablet.take(one.sent)
        if one.state == WAITS:
            self._first_time(one)
        assert row.text == one.sent.text

    # -- the oracle -------------------------------------------------------------------------------------

    def _first_time(self, one: Told) -> None:
        is_known = one.who is not None and self.works[one.who]
        one.state = STORED if is_known and (one.undoes is not None or not self.is_gone[one.job]) else REVIEW
        if one.undoes is not None and one.state == STORED:
            self._undo(self.told[one.undoes], by=one)
            return
        place = self.told.index(one)
        undone = [other for other in self.told if other.undoes == place and other.state == STORED]
        if is_known:
            for other in undone:
                self._undo(one, by=other)

    def _undo(self, one: Told, *, by: Told) -> None:
        if one.state == TAKEN:
            by.state = REVIEW
        elif one.state == REVIEW:
            one.state = ASIDE
        elif one.state == STORED:
            one.is_back = True

    # -- in the shop ------------------------------------------------------------------------------------

    @rule(job=PLACE)
    def boat_goes_or_comes_back(self, job: int) -> None:
        self.is_gone[job] = not self.is_gone[job]
        stage = Stage.GONE if self.is_gone[job] else Stage.IN_HAND
        Job.objects.filter(pk=self.jobs[job].pk).update(stage=stage)

    @rule()
    def wen_leaves_or_comes_back(self) -> None:
        self.works[1] = not self.works[1]
        Person.objects.filter(pk=self.people[1].pk).update(is_active=self.works[1])

    @rule(pick=PICK, is_taken=st.booleans())
    def desk_settles(self, pick: int, *, is_taken: bool) -> None:
        waiting = [one for one in self.told if one.state == REVIEW]
        if not waiting:
            return
        one = waiting[pick % len(waiting)]
        # an undo can't be taken in, and nothing on a boat that is gone: the desk sets those aside
        is_taken = is_taken and one.undoes is None and not self.is_gone[one.job]
        data = SettleInput(is_taken=is_taken, reason="asked", person=self.people[0].pk)
        desk = Actor(scope=Scope.DESK, person=self.ilse, at=self.tablet.received_at)
        row = TabletEntry.objects.get(text=one.sent.text)
        settle_entry(row.pk, data, wanted_by(one.sent.written, locale="en"), by=desk)
        one.state = TAKEN if is_taken else ASIDE

    # -- what must be true ------------------------------------------------------------------------------

    @invariant()
    def each_is_in_the_shop_once(self) -> None:
        rows = dict(TabletEntry.objects.values_list("text", "state"))
        assert rows == {one.sent.text: one.state for one in self.told if one.state != WAITS}
        assert TabletEntry.objects.count() == len(rows)

    @invariant()
    def nothing_is_gone_from_both(self) -> None:
        assert [one for one in self.told if one.state == WAITS and not one.is_out] == []

    @invariant()
    def books_hold_what_counts(self) -> None:
        counted = [
            *PartUsed.objects.filter(struck_at=None).values_list("description", flat=True),
            *JobNote.objects.filter(struck_at=None).values_list("text", flat=True),
        ]
        assert sorted(counted) == sorted(
            f"mark {n}"
            for n, one in enumerate(self.told)
            if one.undoes is None and one.state in (STORED, TAKEN) and not one.is_back
        )

    @invariant()
    def gaps_are_what_has_not_come(self) -> None:
        if not self.told:
            return
        self.tablet.device.refresh_from_db()
        come = [n for n, one in enumerate(self.told, start=1) if one.state != WAITS]
        last = max(come, default=0)
        assert (self.tablet.device.last_sequence, self.tablet.device.sequences_here) == (last, len(come))
        missing = sum(end - start + 1 for start, end in missing_of(come))
        assert missing == last - len(come)

    def end(self) -> None:
        """The network is back for good: nothing is left on the tablet, and no number is missing."""
        if not self.told:
            return
        for one in self.told:
            self._heard(one)
        self.each_is_in_the_shop_once()
        self.books_hold_what_counts()
        self.gaps_are_what_has_not_come()
        assert self.tablet.device.sequences_here == len(self.told)
        assert {EntryState.STORED, EntryState.REVIEW, EntryState.TAKEN, EntryState.SET_ASIDE} == {
            STORED,
            REVIEW,
            TAKEN,
            ASIDE,
        }


def test_outbox_loses_and_doubles_nothing() -> None:
    run(Outboxes, runs=4, steps=30)
