"""Which job a comeback comes from, named in any order: found from both sides, and never round in a circle.

Invariant 6 of the design's page on records; that each line has one payer is walked in ``test_bills``.
"""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import transaction
from hypothesis import strategies as st
from hypothesis.stateful import initialize, invariant, rule

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.job_settings import CauseInput, name_cause
from shopapp.actions.refusals import Refused
from shopapp.calc.errors import BadInput
from shopapp.models import Job, Outcome, Stage, WorkOrder
from shopapp.queries.visit_sides import sides_of
from tests.conftest import NOW
from tests.factories import (
    EngineFactory,
    JobFactory,
    PersonFactory,
    VesselFactory,
    WorkOrderFactory,
    found_shop,
)
from tests.states.running import ShopMachine, run

ANY = st.sampled_from(range(12))


class Comebacks(ShopMachine):
    """Three boats and two engines that move between them come again and again."""

    def __init__(self) -> None:
        super().__init__()
        self.opened: dict[int, int] = {}
        # what was accepted, kept apart from the rows: job → the job it comes from
        self.causes: dict[int, int] = {}

    @initialize()
    def shop_is_founded(self) -> None:
        found_shop()
        self.maren = PersonFactory.create(username="maren", name="Maren Falk", is_owner=True)
        self.vessels = VesselFactory.create_batch(3)
        self.engines = [EngineFactory.create(vessel=vessel) for vessel in self.vessels[:2]]
        for which in range(4):
            self.boat_comes(boat=which % 2, motor=which % 2, is_finished=True)

    @rule(boat=ANY, motor=ANY, is_finished=st.booleans())
    def boat_comes(self, boat: int, motor: int, is_finished: bool) -> None:
        visit = WorkOrderFactory.create(
            vessel=self.vessels[boat % 3],
            stage=Stage.GONE if is_finished else Stage.DIAGNOSIS,
            opened_at=NOW + timedelta(days=len(self.opened)),
            gone_at=NOW if is_finished else None,
        )
        job = JobFactory.create(
            work_order=visit,
            engine=(*self.engines, None)[motor % 3],
            stage=visit.stage,
            outcome=Outcome.DONE if is_finished else Outcome.OPEN,
        )
        self.opened[job.pk] = len(self.opened)

    def job(self, which: int) -> Job:
        keys = sorted(self.opened)
        return Job.objects.select_related("work_order").get(pk=keys[which % len(keys)])

    def attempt(self, deed: Callable[..., Any], *args: Any, **kwargs: Any) -> bool:
        try:
            with transaction.atomic():
                deed(*args, **kwargs)
        except (Refused, BadInput):
            return False
        return True

    @rule(late=ANY, early=ANY)
    def owner_names_a_cause(self, late: int, early: int) -> None:
        job, cause = self.job(late), self.job(early)
        by = Actor(scope=Scope.DESK, person=self.maren, at=NOW)
        is_taken = self.attempt(name_cause, job.pk, CauseInput(job=cause.pk), version=job.version, by=by)
        is_same = job.work_order.vessel_id == cause.work_order.vessel_id or (
            job.engine_id is not None and job.engine_id == cause.engine_id
        )
        is_earlier = self.opened[cause.pk] < self.opened[job.pk]
        assert is_taken == (is_same and is_earlier and cause.outcome == Outcome.DONE)
        if is_taken:
            self.causes[job.pk] = cause.pk

    @rule(which=ANY)
    def owner_takes_it_back(self, which: int) -> None:
        job = self.job(which)
        by = Actor(scope=Scope.DESK, person=self.maren, at=NOW)
        assert self.attempt(name_cause, job.pk, CauseInput(job=None), version=job.version, by=by)
        self.causes.pop(job.pk, None)

    @invariant()
    def each_is_found_from_the_other(self) -> None:
        """The page of every visit names exactly the pairs that its job is part of, on its side."""
        told: set[tuple[int, int, bool]] = set()
        for visit in WorkOrder.objects.prefetch_related("jobs"):
            jobs = list(visit.jobs.all())
            beside = sides_of(visit, jobs=jobs, viewer=self.maren, today=NOW.date(), currency="CAD")
            for one in beside.kin:
                pair = (one.of_job, one.job_pk) if one.is_cause else (one.job_pk, one.of_job)
                told.add((*pair, one.is_cause))
        expected = {(job, cause, side) for job, cause in self.causes.items() for side in (True, False)}
        assert told == expected

    @invariant()
    def nothing_comes_from_itself(self) -> None:
        for first in self.causes:
            walked, job = {first}, first
            while job in self.causes:
                job = self.causes[job]
                assert job not in walked
                walked.add(job)


@pytest.mark.django_db
def test_comebacks_are_found_both_ways() -> None:
    run(Comebacks, runs=3, steps=20)
