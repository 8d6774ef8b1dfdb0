"""A link reaches the photos that are frozen in its revision, and no other."""

import io

import pytest
from django.test import Client
from django.utils import timezone
from PIL import Image

from shopapp.actions import quotes
from shopapp.files.photos import store_photo
from shopapp.models import Job, Person
from tests.factories import JobFactory
from tests.factories.quotes import desk, draft_quote, opened_link


def pictured(job: Job, person: Person, colour: str) -> str:
    """A stored photo of the job; returns its name."""
    picture = io.BytesIO()
    Image.new("RGB", (40, 30), colour).save(picture, "JPEG")
    picture.seek(0)
    stored = store_photo(picture, name="a.jpg")
    job.photos.create(
        work_order=job.work_order,
        sha256=stored.sha256,
        width=stored.width,
        height=stored.height,
        byte_size=stored.byte_size,
        taken_by=person,
        taken_at=timezone.now(),
    )
    return stored.sha256


@pytest.fixture
def guest(ilse: Person, tobiah: Person) -> tuple[Client, dict[str, str]]:
    """A customer's browser, and the names of three photos: shown, taken later, of another boat."""
    draft = draft_quote(ilse, at=timezone.now())
    job = Job.objects.get()
    names = {"shown": pictured(job, tobiah, "green")}
    sent = quotes.send_quote(draft.pk, version=1, by=desk(ilse, at=timezone.now()))
    names["later"] = pictured(job, tobiah, "red")
    names["another"] = pictured(JobFactory(), tobiah, "blue")
    _, token = opened_link(sent, ilse, at=timezone.now())
    browser = Client()
    browser.get(f"/approvals/enter/{token}/")
    return browser, names


def test_photo_that_was_shown_is_served(guest: tuple[Client, dict[str, str]]) -> None:
    browser, names = guest

    response = browser.get(f"/approvals/photo/{names['shown']}/")

    assert (response.status_code, response["Content-Type"]) == (200, "image/webp")
    assert response.content[:4] == b"RIFF"
    assert (response["Cache-Control"], response["Referrer-Policy"]) == ("no-store", "no-referrer")


@pytest.mark.parametrize("which", ["later", "another"])
def test_photo_that_was_not_shown_is_404(guest: tuple[Client, dict[str, str]], which: str) -> None:
    browser, names = guest

    assert browser.get(f"/approvals/photo/{names[which]}/").status_code == 404


@pytest.mark.parametrize("name", ["0" * 64, "x", "..%2f..%2fshop.sqlite3", "%00"])
def test_photo_of_no_name_is_404(guest: tuple[Client, dict[str, str]], name: str) -> None:
    assert guest[0].get(f"/approvals/photo/{name}/").status_code == 404


def test_photo_needs_a_door(guest: tuple[Client, dict[str, str]]) -> None:
    assert Client().get(f"/approvals/photo/{guest[1]['shown']}/").status_code == 404


def test_photos_are_on_the_page(guest: tuple[Client, dict[str, str]]) -> None:
    browser, names = guest

    page = browser.get("/approvals/decide/").content.decode()

    assert page.count(f'<img src="/approvals/photo/{names["shown"]}/"') == 1
    assert page.count("<img") == 1
