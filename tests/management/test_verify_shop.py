"""The command that asks everything that must always be true."""

from datetime import UTC, datetime
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from shopapp.files.photos import photo_path
from shopapp.models import NumberSeries, Person, Photo, Stage
from tests.factories.jobs import job_at, stored

pytestmark = pytest.mark.django_db


def test_verify_shop_is_content_and_counts_missing_photos(ilse: Person) -> None:
    job, photo, out = job_at(Stage.HERE), stored("red"), StringIO()
    Photo.objects.create(
        work_order=job.work_order, job=job, taken_by=ilse, taken_at=datetime.now(UTC), **vars(photo)
    )
    photo_path(photo.sha256).unlink()
    NumberSeries.objects.filter(code="work_order").delete()

    call_command("verify_shop", stdout=out)

    told = out.getvalue().splitlines()
    assert told[-2:] == ["All sums, numbers and shown texts are right.", "1 photos have no file."]


def test_verify_shop_names_what_is_wrong(ilse: Person) -> None:
    NumberSeries.objects.update_or_create(code="invoice", defaults={"prefix": "INV-", "next_value": 3})

    with pytest.raises(CommandError, match=r"The numbers of invoice have a gap: 0 are given of 2\."):
        call_command("verify_shop", stdout=StringIO())
