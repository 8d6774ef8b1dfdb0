"""The command that removes photo files which no job names."""

import os
from datetime import UTC, datetime
from io import StringIO

import pytest
from django.conf import settings
from django.core.management import call_command

from shopapp.files.photos import photo_path
from shopapp.models import Person, Photo, Stage
from tests.factories.jobs import job_at, stored

pytestmark = pytest.mark.django_db


def said() -> str:
    out = StringIO()
    call_command("sweep_photos", stdout=out)
    return out.getvalue()


def test_sweep_photos_removes_leftovers_of_yesterday(ilse: Person) -> None:
    job = job_at(Stage.HERE)
    named, leftover, fresh = stored("red"), stored("green"), stored("blue")
    Photo.objects.create(
        work_order=job.work_order, job=job, taken_by=ilse, taken_at=datetime.now(UTC), **vars(named)
    )
    yesterday = datetime.now(UTC).timestamp() - 90_000
    for kept in (named, leftover):
        os.utime(photo_path(kept.sha256), (yesterday, yesterday))

    told = said()

    assert told == "1 leftover files were removed.\n"
    assert [photo_path(one.sha256).exists() for one in (named, leftover, fresh)] == [True, False, True]


def test_sweep_photos_removes_papers_that_were_never_finished() -> None:
    settings.PAPER_DIR.mkdir()
    yesterday = datetime.now(UTC).timestamp() - 90_000
    for name, moment in (
        ("half.part", yesterday),
        ("in-the-making.part", None),
        (f"{'1' * 64}.pdf", yesterday),
    ):
        path = settings.PAPER_DIR / name
        path.write_bytes(b"%PDF-")
        if moment is not None:
            os.utime(path, (moment, moment))

    assert said() == "2 leftover files were removed.\n"
    assert [path.name for path in settings.PAPER_DIR.glob("*.*")] == ["in-the-making.part"]


def test_sweep_photos_needs_no_photos() -> None:
    assert said() == "0 leftover files were removed.\n"
