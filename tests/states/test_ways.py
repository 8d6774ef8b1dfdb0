"""Stages, holds and endings in any order: no move off the path, no boat lost from the list."""

import json
from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.db import transaction
from hypothesis import strategies as st
from hypothesis.stateful import initialize, invariant, rule

from shopapp.actions import holds, job_endings, job_settings, job_tests, jobs, work_orders
from shopapp.actions.activity import first_bad_link
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.refusals import Refused
from shopapp.calc.errors import BadInput
from shopapp.models import (
    Activity,
    Hold,
    Job,
    Outcome,
    Person,
    PlacedHold,
    Stage,
    ToldHow,
    WorkOrder,
)
from shopapp.models import TestKind as Kind
from shopapp.queries.approvals import approved_options
from shopapp.queries.work_orders import Wanted, index_page
from tests.conftest import NOW
from tests.factories import JobFactory, PersonFactory, WorkOrderFactory, found_shop
from tests.factories.quotes import answered, sent_quote
from tests.states import truths
from tests.states.running import ShopMachine, run

WHICH = st.sampled_from(range(6))
WHO = st.sampled_from(["ilse", "maren", "tobiah"])
ORDER = ["booked", "here", "diagnosis", "with_customer", "in_line", "in_hand", "test", "ready"]
WORKED_AT = ("in_line", "in_hand", "test")
# every step of the path and every way back, written from the description and not from the table of the app
STEPS = {
    *{("here", to) for to in ("diagnosis", "with_customer", "in_hand", "ready", "cancelled")},
    *{("diagnosis", to) for to in ("here", "with_customer", "in_hand", "ready", "cancelled")},
    *{("with_customer", to) for to in ("diagnosis", "in_line", "ready")},
    *{("in_line", to) for to in ("diagnosis", "in_hand", "ready")},
    *{("in_hand", to) for to in ("diagnosis", "in_line", "test", "ready")},
    *{("test", to) for to in ("diagnosis", "in_hand", "ready")},
    *{("ready", to) for to in ("diagnosis", "in_hand", "gone")},
}
TABLES = (WorkOrder, Job, PlacedHold)


class Ways(ShopMachine):
    """Two boats; desk, owner and a technician do whatever comes to their minds."""

    def __init__(self) -> None:
        super().__init__()
        self.at: datetime = NOW

    @initialize(kinds=st.lists(st.sampled_from([Kind.NONE, Kind.TANK]), min_size=3, max_size=3))
    def shop_is_founded(self, kinds: list[Kind]) -> None:
        found_shop()
        self.people: dict[str, Person] = {
            "ilse": PersonFactory.create(username="ilse", name="Ilse Brandt"),
            "maren": PersonFactory.create(username="maren", name="Maren Falk", is_owner=True),
            "tobiah": PersonFactory.create(username="tobiah", name="Tobiah Reyes", is_technician=True),
        }
        self.visits = [WorkOrderFactory.create().pk for _ in range(2)]
        for place, kind in enumerate(kinds):
            JobFactory.create(
                work_order=WorkOrder.objects.get(pk=self.visits[place % 2]),
                position=1 + place // 2,
                test_kind=kind,
                technician=self.people["tobiah"] if place else None,
            )

    def by(self, who: str = "ilse") -> Actor:
        self.at += timedelta(minutes=1)
        return Actor(scope=Scope.DESK, person=self.people[who], at=self.at)

    def attempt(self, deed: Callable[..., Any], *args: Any, who: str = "ilse") -> Any:
        """Do it; where the rules refuse, nothing at all has changed."""
        before, entries = truths.everything(*TABLES), Activity.objects.count()
        try:
            with transaction.atomic():
                return deed(*args, by=self.by(who))
        except (Refused, BadInput):
            assert (truths.everything(*TABLES), Activity.objects.count()) == (before, entries)
            return None

    def job(self, which: int) -> Job:
        rows = list(Job.objects.order_by("pk"))
        return rows[which % len(rows)]

    @rule(
        which=WHICH, who=WHO, deed=st.sampled_from([jobs.start_diagnosis, jobs.start_work, jobs.finish_work])
    )
    def bench_moves_a_job(self, which: int, who: str, deed: Callable[..., Any]) -> None:
        self.attempt(deed, self.job(which).pk, who=who)

    @rule(which=WHICH, who=WHO, has_passed=st.booleans())
    def job_is_tested(self, which: int, who: str, has_passed: bool) -> None:
        data = job_tests.RecordTestInput(has_passed=has_passed, remarks="leaks")
        self.attempt(job_tests.record_test, self.job(which).pk, data, who=who)

    @rule(which=WHICH, who=WHO, outcome=st.sampled_from(Outcome))
    def job_ends(self, which: int, who: str, outcome: Outcome) -> None:
        data = job_endings.EndInput(outcome=outcome, reason="so be it")
        self.attempt(job_endings.end_job, self.job(which).pk, data, who=who)

    @rule(which=WHICH, who=WHO, to=st.sampled_from(Stage))
    def job_goes_back(self, which: int, who: str, to: Stage) -> None:
        data = job_endings.BackInput(to=to, reason="found more")
        self.attempt(job_endings.move_back, self.job(which).pk, data, who=who)

    @rule(which=WHICH, who=WHO)
    def test_is_waived(self, which: int, who: str) -> None:
        self.attempt(
            job_endings.waive_test, self.job(which).pk, job_endings.WaiveInput(reason="ice"), who=who
        )

    @rule(which=WHICH, who=WHO)
    def job_is_added(self, which: int, who: str) -> None:
        if Job.objects.count() < 8:
            data = job_settings.JobInput(complaint="more", test_kind=Kind.NONE)
            self.attempt(job_settings.add_job, self.job(which).work_order_id, data, who=who)

    @rule(which=WHICH, who=WHO, kind=st.sampled_from([Hold.PARTS, Hold.PAYMENT]))
    def visit_waits(self, which: int, who: str, kind: Hold) -> None:
        data = holds.HoldInput(kind=kind, chase_date=date(2026, 6, 9), chaser=self.people["ilse"].pk)
        self.attempt(holds.place_hold, self.job(which).work_order_id, data, who=who)

    @rule(which=WHICH, who=WHO, deed=st.sampled_from([holds.release_hold, holds.restore_hold]))
    def wait_is_over_or_not(self, which: int, who: str, deed: Callable[..., Any]) -> None:
        rows = list(PlacedHold.objects.order_by("pk"))
        if rows:
            self.attempt(deed, rows[which % len(rows)].pk, who=who)

    @rule(which=WHICH)
    def customer_agrees(self, which: int) -> None:
        """A quote about everything that may be asked, answered with the first options.

        What was agreed and sent back is agreed still: it is started again, not asked about.
        """
        visit = self.job(which).work_order
        asked = Job.objects.filter(work_order=visit, stage__in=("here", "diagnosis"), outcome="open")
        agreed = approved_options(asked)
        if asked.exclude(pk__in=agreed).exists():
            answered(
                sent_quote(self.people["ilse"], at=self.at, work_order=visit), self.people["ilse"], at=self.at
            )

    @rule(which=WHICH)
    def visit_is_called_off(self, which: int) -> None:
        data = work_orders.CancelInput(reason="sold", gone_to="Pia")
        self.attempt(work_orders.cancel_visit, self.job(which).work_order_id, data)

    @rule(which=WHICH, who=WHO, is_told=st.booleans())
    def boat_goes_home(self, which: int, who: str, is_told: bool) -> None:
        pk = self.job(which).work_order_id
        if is_told:
            self.attempt(work_orders.tell_customer, pk, work_orders.TellInput(how=ToldHow.PHONE))
        self.attempt(work_orders.hand_back, pk, work_orders.HandBackInput(gone_to="Pia"), who=who)

    # --- what is always true ----------------------------------------------------------------------

    @invariant()
    def visit_stands_with_its_slowest_job(self) -> None:
        for visit in WorkOrder.objects.prefetch_related("jobs"):
            stages = [job.stage for job in visit.jobs.all()]
            still_open = [stage for stage in stages if stage in ORDER]
            closed = "gone" if "gone" in stages else "cancelled"
            assert visit.stage == (min(still_open, key=ORDER.index) if still_open else closed)

    @invariant()
    def no_boat_is_lost_from_every_list(self) -> None:
        if not hasattr(self, "people"):
            return
        listed = [
            row.pk
            for is_closed in (False, True)
            for row in index_page(
                Wanted(is_closed=is_closed), viewer=self.people["ilse"], today=date(2026, 6, 2)
            ).rows
        ]
        assert sorted(listed) == sorted(self.visits)

    @invariant()
    def ready_means_ended_and_proved(self) -> None:
        for job in Job.objects.filter(stage__in=("ready", "gone")).prefetch_related("tests"):
            assert job.outcome != Outcome.OPEN
            is_proved = (
                job.test_kind == Kind.NONE or job.waived_by_id or any(t.has_passed for t in job.tests.all())
            )
            assert job.outcome != Outcome.DONE or is_proved

    @invariant()
    def nobody_works_on_what_was_not_agreed(self) -> None:
        for job in Job.objects.filter(stage__in=WORKED_AT):
            assert job.choices.filter(answer__option__isnull=False).exists() or job.limit_share_minor

    @invariant()
    def visit_that_is_over_waits_for_nothing(self) -> None:
        closed = WorkOrder.objects.filter(stage__in=("gone", "cancelled"))
        assert not PlacedHold.objects.filter(work_order__in=closed, released_at=None).exists()
        assert not closed.filter(is_boat_here=True).exists()
        assert not closed.filter(stage="gone", told_at=None).exists()

    @invariant()
    def open_visit_that_is_not_ready_is_told_nothing(self) -> None:
        assert not WorkOrder.objects.exclude(stage__in=("ready", "gone")).exclude(told_at=None).exists()

    def end(self) -> None:
        moves = [json.loads(row.payload or "{}") for row in Activity.objects.filter(verb="move job")]
        assert {(move["from"], move["to"]) for move in moves} <= STEPS
        assert first_bad_link() is None


@pytest.mark.django_db
def test_ways_of_a_boat_hold_in_any_order() -> None:
    run(Ways, runs=4, steps=20)
