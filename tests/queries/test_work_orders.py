"""The list: who sees which visit, in which order, and when one is late."""

from datetime import UTC, date, datetime

import pytest

from shopapp.calc.errors import BadInput
from shopapp.models import Job, JobAssignment, Person, Stage
from shopapp.queries.work_orders import Wanted, index_page
from tests.factories import PersonFactory, WorkOrderFactory
from tests.factories.jobs import job_at

pytestmark = pytest.mark.django_db

TODAY = date(2026, 6, 2)


@pytest.mark.parametrize(
    ("stage", "promised", "is_late"),
    [
        (Stage.HERE, date(2026, 6, 1), True),
        (Stage.HERE, date(2026, 6, 2), False),
        (Stage.HERE, None, False),
        (Stage.READY, date(2026, 6, 1), False),
    ],
)
def test_visit_is_late_after_its_day(
    ilse: Person, stage: Stage, promised: date | None, is_late: bool
) -> None:
    WorkOrderFactory(stage=stage, promised_date=promised)

    page = index_page(Wanted(), viewer=ilse, today=TODAY)

    assert [row.is_late for row in page.rows] == [is_late]


def test_visits_of_one_moment_keep_their_order(ilse: Person) -> None:
    moment = datetime(2026, 6, 1, tzinfo=UTC)
    for number in ("A", "B", "C"):
        WorkOrderFactory(number=number, opened_at=moment)

    page = index_page(Wanted(), viewer=ilse, today=TODAY)

    assert [row.number for row in page.rows] == ["C", "B", "A"]


def test_filters_count_what_one_may_see(tobiah: Person, ilse: Person) -> None:
    job_at(Stage.TEST, technician=tobiah)
    job_at(Stage.HERE, technician=tobiah)
    job_at(Stage.TEST)

    pages = [index_page(Wanted(), viewer=viewer, today=TODAY) for viewer in (tobiah, ilse)]

    assert [[(one.stage, one.count) for one in page.filters] for page in pages] == [
        [("here", 1), ("test", 1)],
        [("here", 1), ("test", 2)],
    ]


def test_row_names_people_and_engines_once(ilse: Person, tobiah: Person) -> None:
    job = job_at(Stage.HERE, technician=tobiah)
    second = Job.objects.create(work_order=job.work_order, position=2, complaint="x", engine=job.engine)
    JobAssignment.objects.create(job=second, person=tobiah)
    JobAssignment.objects.create(job=second, person=PersonFactory(name="Ada Ruiz", is_technician=True))

    row = index_page(Wanted(), viewer=ilse, today=TODAY).rows[0]

    assert (row.technicians, row.engines) == (("Tobiah Reyes", "Ada Ruiz"), ("Petrel Marine P60",))


def test_owner_who_is_also_technician_sees_all(tobiah: Person) -> None:
    both = PersonFactory(is_owner=True, is_technician=True)
    job_at(Stage.HERE, technician=tobiah)

    assert index_page(Wanted(), viewer=both, today=TODAY).count == 1


def test_unknown_stage_is_named(ilse: Person) -> None:
    with pytest.raises(BadInput, match="launched"):
        index_page(Wanted(stage="launched"), viewer=ilse, today=TODAY)
