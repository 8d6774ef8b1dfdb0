"""A photo is added to a job."""

import io
from collections.abc import Callable

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from shopapp.files.photos import read_photo
from shopapp.models import Activity, Person, Photo, Stage
from tests.factories.jobs import job_at, picture
from tests.web.shared.bad_values import tried_values
from tests.web.work_orders.posts import answer_to_get, looks_missing

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
SVG = b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>'


def address(pk: int) -> str:
    return f"/work-orders/job/{pk}/add-photo/"


def upload(content: bytes | None = None, *, name: str = "oil.jpg") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, picture() if content is None else content, content_type="image/jpeg")


def test_photo_is_kept_and_shown(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job, client = job_at(Stage.HERE, technician=tobiah), signed_in(tobiah)

    response = client.post(address(job.pk), {"photo": upload(), "caption": "Milky oil"} | key())

    photo = Photo.objects.get()
    page = client.get(response.headers["Location"]).content.decode()
    assert response.headers["Location"] == f"/work-orders/job/{job.pk}/bench/"
    assert read_photo(photo.sha256)[:4] == b"RIFF"
    assert (f'src="/media/photo/{photo.pk}/"' in page, 'alt="Milky oil"' in page) == (True, True)


def test_photo_sent_twice_is_one_row(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job, client, same = job_at(Stage.HERE, technician=tobiah), signed_in(tobiah), key()

    answers = [client.post(address(job.pk), {"photo": upload()} | same) for _ in range(2)]
    answers.append(client.post(address(job.pk), {"photo": upload()} | key()))

    assert [answer.status_code for answer in answers] == [302, 302, 302]
    assert (Photo.objects.count(), Activity.objects.count()) == (1, 1)


def test_key_of_one_photo_takes_no_other_t20(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job, client, same = job_at(Stage.HERE, technician=tobiah), signed_in(tobiah), key()
    client.post(address(job.pk), {"photo": upload()} | same)

    response = client.post(address(job.pk), {"photo": upload(picture(colour="red"))} | same)

    assert (response.status_code, Photo.objects.count()) == (422, 1)


def test_svg_named_jpg_is_refused_t11(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.HERE, technician=tobiah)

    response = signed_in(tobiah).post(address(job.pk), {"photo": upload(SVG), "caption": "Milky oil"} | key())

    content = response.content.decode()
    assert (response.status_code, Photo.objects.count()) == (422, 0)
    assert "Photo: &quot;oil.jpg&quot; is not accepted. Give a photo as JPEG, PNG or WebP." in content
    assert ('id="photo_photo_error"' in content, 'value="Milky oil"' in content) == (True, True)
    assert "onload" not in content.partition("<main")[2]


@pytest.mark.parametrize("data", [{}, {"photo": ""}, {"photo": "oil.jpg"}])
def test_missing_photo_keeps_the_page(
    tobiah: Person, signed_in: SignedIn, key: Key, data: dict[str, str]
) -> None:
    job = job_at(Stage.HERE, technician=tobiah)

    response = signed_in(tobiah).post(address(job.pk), data | key())

    assert response.status_code == 422
    assert "Photo is missing. Please fill it in." in response.content.decode()


def test_photo_on_a_closed_job_is_refused(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.CANCELLED)

    response = signed_in(ilse).post(address(job.pk), {"photo": upload()} | key())

    assert (response.status_code, Photo.objects.count()) == (409, 0)


def test_photo_by_get_does_nothing(tobiah: Person, signed_in: SignedIn) -> None:
    job = job_at(Stage.HERE, technician=tobiah)

    assert answer_to_get(signed_in(tobiah), address(job.pk)) == (405, True)


def test_photo_of_another_is_missing_t01(tobiah: Person, wen: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.HERE, technician=tobiah)

    answer = looks_missing(signed_in(wen), address(job.pk), pk=job.pk, data=dict(key()))

    assert (answer, settings.PHOTO_DIR.exists()) == ((404, True, True), False)


def test_photo_withstands_odd_names_and_contents(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job, client = job_at(Stage.HERE, technician=tobiah), signed_in(tobiah)
    found = []

    for value in tried_values():
        name = value.replace("\x00", "0") or "x"
        sent = io.BytesIO(value.encode())
        sent.name = name
        odd = client.post(address(job.pk), {"photo": sent, "caption": value} | key())
        good = client.post(address(job.pk), {"photo": upload(), "caption": value} | key())
        if odd.status_code not in (400, 422) or good.status_code not in (302, 422):
            found.append((value[:40], odd.status_code, good.status_code))

    assert (found, Photo.objects.count()) == ([], 1)
