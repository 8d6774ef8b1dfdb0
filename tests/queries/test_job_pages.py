"""What is planned, what of it is logged, and what is left."""

from collections.abc import Callable
from datetime import datetime
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import LogFluidInput, LogTimeInput, UsePartInput, log_fluid, log_time, use_part
from shopapp.models import Job, Person, Stage
from shopapp.queries.job_pages import WorkPage, findings_page, work_jobs, work_page
from tests.factories.jobs import agreed_job, job_at, log_parts, plan_line

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]


def page_of(job: Job, viewer: Person) -> WorkPage:
    row = work_jobs().select_related("work_order__vessel").get(pk=job.pk)
    return work_page(row, viewer=viewer, locale="en")


def test_planned_lines_count_what_is_logged(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    part, fluid, labour = (plan_line(job, kind).pk for kind in ("part", "fluid", "labour"))
    use_part(job.pk, UsePartInput(quantity=Decimal("0.5"), line=part), by=by(tobiah))
    use_part(job.pk, UsePartInput(quantity=Decimal(5), description="extra"), by=by(tobiah))
    log_fluid(job.pk, LogFluidInput(point="gearcase", filled_ml=1_100, line=fluid), by=by(tobiah))
    for minutes in (90, 50):
        log_time(job.pk, LogTimeInput(minutes=minutes, line=labour), by=by(tobiah))

    page = page_of(job, tobiah)

    assert [(line.kind, line.used, line.left, line.is_used) for line in page.planned] == [
        ("part", Decimal("0.50"), Decimal("1.5"), False),
        # 1.1 of 1 litre: more than planned is nothing left
        ("fluid", Decimal("1.10"), Decimal(0), True),
        # 140 minutes are 2.33 of 2.5 hours
        ("labour", Decimal("2.33"), Decimal("0.17"), False),
    ]


def test_planned_line_counts_rows_that_are_not_shown(tobiah: Person, now: datetime) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    log_parts(job, tobiah, count=301, at=now, line=plan_line(job, "part"))

    page = page_of(job, tobiah)

    assert [line.used for line in page.planned if line.kind == "part"] == [Decimal("301.00")]


def test_nothing_is_planned_before_an_answer(tobiah: Person) -> None:
    page = page_of(job_at(Stage.DIAGNOSIS, technician=tobiah), tobiah)

    assert (page.planned, page.agreed, page.may_log) == ((), "", True)


def test_only_the_desk_picks_people(ilse: Person, tobiah: Person, wen: Person) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)

    pages = [page_of(job, viewer) for viewer in (ilse, tobiah)]

    assert [[person.name for person in page.people] for page in pages] == [["Tobiah Reyes", "Wen Okafor"], []]


def test_findings_page_names_job_and_boat(tobiah: Person) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)

    page = findings_page(job, viewer=tobiah, asking=None)

    assert (page.number, page.position, page.boat, page.engine, page.conflict) == (
        job.work_order.number,
        1,
        job.work_order.vessel.name,
        "Petrel Marine P60",
        None,
    )
