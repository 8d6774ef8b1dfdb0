"""Photos of how a boat came hang on its first job and say that they are of the arrival."""

from collections.abc import Callable

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from shopapp.models import Person, Photo, WorkOrder
from tests.factories import JobFactory
from tests.factories.jobs import picture

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def test_photo_is_kept_on_the_first_job(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, key: Key
) -> None:
    JobFactory(work_order=visit, position=2)
    upload = SimpleUploadedFile("bow.jpg", picture(), "image/jpeg")

    response = signed_in(ilse).post(
        f"/arrivals/{visit.pk}/add-photo/", {"photo": upload, "caption": "Scratch at the bow"} | key()
    )

    photo = Photo.objects.get()
    assert response["Location"] == f"/arrivals/{visit.pk}/taken-in/"
    assert (photo.job.position, photo.is_of_arrival, photo.caption) == (1, True, "Scratch at the bow")


def test_what_is_no_photo_is_told_at_its_field_t11(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, key: Key
) -> None:
    upload = SimpleUploadedFile("bow.jpg", b"<svg></svg>", "image/jpeg")

    response = signed_in(ilse).post(f"/arrivals/{visit.pk}/add-photo/", {"photo": upload} | key())

    assert (response.status_code, Photo.objects.count()) == (422, 0)
    assert 'id="id_photo_error"' in response.content.decode()


def test_visit_without_a_job_takes_no_photo(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, key: Key
) -> None:
    visit.jobs.all().delete()
    upload = SimpleUploadedFile("bow.jpg", picture(), "image/jpeg")

    response = signed_in(ilse).post(f"/arrivals/{visit.pk}/add-photo/", {"photo": upload} | key())

    assert (response.status_code, Photo.objects.count()) == (409, 0)
