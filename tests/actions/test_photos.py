"""A photo is named once on a job, and only while the job is open."""

from collections.abc import Callable

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.photos import MOST_A_JOB, PhotoInput, add_photo
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.models import Activity, Person, Photo, Stage
from tests.factories.jobs import job_at, stored

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]


def test_photo_belongs_to_job_and_visit(tobiah: Person, by: By) -> None:
    job = job_at(Stage.HERE, technician=tobiah)
    kept = stored()

    row = add_photo(job.pk, PhotoInput(stored=kept, caption="Milky oil"), by=by(tobiah))

    assert (row.job, row.work_order, row.sha256, row.caption) == (
        job,
        job.work_order,
        kept.sha256,
        "Milky oil",
    )
    assert (row.width, row.height, row.byte_size, row.taken_by) == (60, 40, kept.byte_size, tobiah)


def test_same_photo_twice_is_one_row(tobiah: Person, by: By) -> None:
    job = job_at(Stage.HERE, technician=tobiah)

    first = add_photo(job.pk, PhotoInput(stored=stored()), by=by(tobiah))
    second = add_photo(job.pk, PhotoInput(stored=stored(), caption="again"), by=by(tobiah))

    assert (first.pk, Photo.objects.count(), Activity.objects.count()) == (second.pk, 1, 1)


def test_same_photo_on_two_jobs_is_two_rows(tobiah: Person, by: By) -> None:
    jobs = [job_at(Stage.HERE, technician=tobiah) for _ in range(2)]

    rows = [add_photo(job.pk, PhotoInput(stored=stored()), by=by(tobiah)) for job in jobs]

    assert len({row.sha256 for row in rows}) == 1
    assert Photo.objects.count() == 2


def test_closed_job_takes_no_photo(ilse: Person, by: By) -> None:
    job = job_at(Stage.CANCELLED)

    with pytest.raises(Refused) as refusal:
        add_photo(job.pk, PhotoInput(stored=stored()), by=by(ilse))

    assert refusal.value.sentence == "This job is closed; it takes no more photos."


def test_job_takes_so_many_photos(ilse: Person, by: By) -> None:
    job = job_at(Stage.HERE)
    Photo.objects.bulk_create(
        Photo(
            work_order=job.work_order,
            job=job,
            sha256=f"{place:064x}",
            width=1,
            height=1,
            byte_size=1,
            taken_by=ilse,
            taken_at=by(ilse).at,
        )
        for place in range(MOST_A_JOB)
    )

    with pytest.raises(Refused) as refusal:
        add_photo(job.pk, PhotoInput(stored=stored()), by=by(ilse))

    assert refusal.value.sentence == "This job has 100 photos, and that is as many as it takes."


def test_stranger_adds_no_photo(wen: Person, tobiah: Person, by: By) -> None:
    job = job_at(Stage.HERE, technician=tobiah)

    with pytest.raises(NotAllowed):
        add_photo(job.pk, PhotoInput(stored=stored()), by=by(wen))

    assert Photo.objects.count() == 0
