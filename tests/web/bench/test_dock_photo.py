"""A photo that is frozen in a quote of the dock call, at its tablet alone."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.models import DockCall, Person, Photo
from tests.factories import JobFactory
from tests.factories.devices import PIN, browser_of
from tests.factories.dock_calls import AtDock, at_dock
from tests.factories.entries import tablet_of
from tests.factories.jobs import stored
from tests.factories.quotes import sent_quote

pytestmark = pytest.mark.django_db

SignedIn = Callable[[Person], Client]


@pytest.fixture
def dock(ilse: Person, maren: Person, tobiah: Person) -> AtDock:
    """The visit has one photo, which the customer was shown, and another visit has one too."""
    moment = timezone.now()
    jobs = [JobFactory.create() for _ in range(2)]
    for job, colour in zip(jobs, ("teal", "navy"), strict=True):
        kept = stored(colour)
        Photo.objects.create(
            work_order=job.work_order,
            job=job,
            sha256=kept.sha256,
            width=kept.width,
            height=kept.height,
            byte_size=kept.byte_size,
            taken_by=tobiah,
            taken_at=moment,
        )
    sent = sent_quote(ilse, at=moment, work_order=jobs[0].work_order)
    return at_dock(sent, tablet_of(maren, tobiah, at=moment), tobiah, by=ilse)


def address(photo: Photo) -> str:
    return f"/bench/dock-photo/{DockCall.objects.get().pk}-{photo.sha256}/"


@pytest.fixture
def tablet(dock: AtDock, tobiah: Person) -> Client:
    client = browser_of(dock.tablet.token)
    client.post(f"/devices/worker/{tobiah.pk}/pin/", {"secret": PIN})
    return client


def test_photo_of_the_quote_is_kept_with_its_page(dock: AtDock, tablet: Client, tobiah: Person) -> None:
    photo = Photo.objects.earliest("pk")

    answer = tablet.get(address(photo))
    page = tablet.get(f"/bench/dock/{dock.call.pk}/")

    assert (answer.status_code, answer["Content-Type"]) == (200, "image/webp")
    assert f'src="{address(photo)}"' in page.content.decode()
    kept = ("X-Shopapp-Kept-For", "X-Shopapp-Kept-Until")
    assert [answer[name] for name in kept] == [page[name] for name in kept]
    assert answer["Cache-Control"] == "no-store"


def test_photo_of_another_visit_is_missing_t01(dock: AtDock, tablet: Client) -> None:
    missing = tablet.get(f"/bench/dock-photo/{dock.call.pk}-{'0' * 64}/")

    other = tablet.get(address(Photo.objects.latest("pk")))

    assert (other.status_code, other.content) == (404, missing.content)


def test_photo_under_another_call_is_missing(dock: AtDock, tablet: Client) -> None:
    path = address(Photo.objects.earliest("pk"))

    assert tablet.get(path.replace(f"/{dock.call.pk}-", f"/{dock.call.pk + 1}-")).status_code == 404


def test_photo_is_nowhere_else(
    dock: AtDock, ilse: Person, tobiah: Person, by_pin: SignedIn, signed_in: SignedIn
) -> None:
    photo = Photo.objects.earliest("pk")

    answers = [client.get(address(photo)) for client in (by_pin(tobiah), signed_in(ilse), signed_in(tobiah))]

    assert [answer.status_code for answer in answers] == [404] * 3


def test_file_that_is_gone_is_missing(
    dock: AtDock, tablet: Client, settings: object, tmp_path: object
) -> None:
    photo = Photo.objects.earliest("pk")
    settings.PHOTO_DIR = tmp_path / "empty"

    assert tablet.get(address(photo)).status_code == 404
