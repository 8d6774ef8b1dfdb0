"""Which engines are laid up, and which jobs may still lay theirs up."""

from datetime import datetime

import pytest
from pytest_django import DjangoAssertNumQueries

from shopapp.models import Engine, Job, Person, Stage
from shopapp.queries.lay_ups import LaidUp, laid_up, may_lay_up, unproved_jobs
from tests.factories.jobs import job_at, lay_up

pytestmark = pytest.mark.django_db


def test_laid_up_engine_says_since_when_and_by_whom(
    tobiah: Person, now: datetime, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    job = job_at(Stage.READY, technician=tobiah)
    assert laid_up(Engine.objects.get()) is None
    lay_up(job, tobiah, at=now)
    engine = Engine.objects.select_related("laid_up_by").get()

    with django_assert_num_queries(0):
        found = laid_up(engine)

    assert found == LaidUp(since=now, who="Tobiah Reyes")


@pytest.mark.parametrize("stage", [one for one in Stage if one != Stage.GONE])
def test_job_offers_it_while_worked_on_and_once_ready(tobiah: Person, now: datetime, stage: Stage) -> None:
    job = job_at(stage, technician=tobiah)
    assert may_lay_up(job) == (stage in (Stage.IN_HAND, Stage.TEST, Stage.READY))

    lay_up(job, tobiah, at=now)

    assert not may_lay_up(Job.objects.get(pk=job.pk))


@pytest.mark.parametrize("stage", [one for one in Stage if one != Stage.GONE])
def test_begun_work_without_its_test_is_unproved(tobiah: Person, stage: Stage) -> None:
    job = job_at(stage, technician=tobiah, test_kind="hose")

    assert list(unproved_jobs(job.engine_id)) == [job] * (stage in (Stage.IN_HAND, Stage.TEST))
    Job.objects.update(test_kind="none")
    assert not unproved_jobs(job.engine_id).exists()
