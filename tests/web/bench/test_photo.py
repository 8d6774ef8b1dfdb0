"""A picture comes beside its entry, one at a time, and is re-encoded before anything names it."""

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from shopapp.files.photos import photo_path
from shopapp.models import Person, Photo, Stage, TabletEntry
from shopapp.queries.entries import Sent
from tests.factories.devices import browser_of
from tests.factories.entries import Tablet, tablet_of
from tests.factories.jobs import job_at, picture

pytestmark = pytest.mark.django_db


@pytest.fixture
def tablet(maren: Person, tobiah: Person) -> Tablet:
    return tablet_of(maren, tobiah, at=timezone.now())


def send(tablet: Tablet, sent: Sent, data: bytes, name: str = "drain.jpg") -> Any:
    fields = {"text": sent.text, "signature": sent.signature, "sent_at": tablet.at.isoformat()}
    upload = SimpleUploadedFile(name, data)
    return browser_of(tablet.token).post("/bench/photo/", fields | {"photo": upload})


def written(tablet: Tablet, tobiah: Person) -> Sent:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    content = {"caption": "Milky oil", "sha256": "0" * 64}
    return tablet.write("photo", job, tobiah, content, after=0)


def test_photo_of_an_entry_is_kept_once(tablet: Tablet, tobiah: Person) -> None:
    sent = written(tablet, tobiah)

    answers = [send(tablet, sent, picture()).json()["entries"][0] for _ in range(2)]

    row = Photo.objects.get()
    assert [one["row"] for one in answers] == [f"photo-{row.pk}"] * 2
    assert (row.caption, row.taken_by, row.taken_at) == ("Milky oil", tobiah, tablet.at)
    assert photo_path(row.sha256).exists()


def test_what_is_no_picture_goes_to_the_desk(tablet: Tablet, tobiah: Person) -> None:
    told = send(tablet, written(tablet, tobiah), b"<svg onload=x>", "drain.jpg").json()["entries"][0]

    assert (told["outcome"], Photo.objects.exists()) == ("review", False)
    assert TabletEntry.objects.get().reason == told["reason"]


def test_picture_without_an_entry_is_refused(tablet: Tablet) -> None:
    client = browser_of(tablet.token)

    answers = [
        client.post("/bench/photo/", {"text": "{}"}),
        client.post("/bench/photo/", {"photo": SimpleUploadedFile("a.jpg", picture())}),
    ]

    assert [one.status_code for one in answers] == [422, 422]
    assert not TabletEntry.objects.exists()
