"""A photo is served to those who may see its work order, and to nobody else."""

from collections.abc import Callable

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.actions.photos import PhotoInput, add_photo
from shopapp.files.photos import photo_path, read_photo
from shopapp.models import Person, Photo, Stage
from tests.factories.jobs import job_at, stored

SignedIn = Callable[[Person], Client]


@pytest.fixture
def photo(tobiah: Person, by: Callable[[Person], Actor]) -> Photo:
    job = job_at(Stage.HERE, technician=tobiah)
    return add_photo(job.pk, PhotoInput(stored=stored()), by=by(tobiah))


def address(pk: int) -> str:
    return f"/media/photo/{pk}/"


@pytest.mark.parametrize("who", ["ilse", "maren", "tobiah"])
def test_photo_is_served_as_it_is_stored(
    request: pytest.FixtureRequest, photo: Photo, signed_in: SignedIn, who: str
) -> None:
    response = signed_in(request.getfixturevalue(who)).get(address(photo.pk))

    assert (response.status_code, response.content) == (200, read_photo(photo.sha256))
    assert response.headers["Content-Type"] == "image/webp"
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    assert response.headers["Cache-Control"] == "private, no-cache"
    assert response.headers["ETag"] == f'"{photo.sha256}"'


def test_kept_photo_is_not_sent_again(ilse: Person, photo: Photo, signed_in: SignedIn) -> None:
    response = signed_in(ilse).get(address(photo.pk), headers={"if-none-match": f'"{photo.sha256}"'})

    assert (response.status_code, response.content) == (304, b"")
    assert response.headers["Cache-Control"] == "private, no-cache"


def test_kept_photo_asks_for_rights_each_time(
    ilse: Person, wen: Person, photo: Photo, signed_in: SignedIn
) -> None:
    kept = {"if-none-match": f'"{photo.sha256}"'}
    desk = signed_in(ilse)
    desk.post("/people/sign-out/")

    statuses = [client.get(address(photo.pk), headers=kept).status_code for client in (desk, signed_in(wen))]

    assert statuses == [302, 404]


def test_photo_of_another_looks_missing_t01(wen: Person, photo: Photo, signed_in: SignedIn) -> None:
    client = signed_in(wen)

    other, missing = client.get(address(photo.pk)), client.get(address(999_999))

    assert (other.status_code, missing.status_code) == (404, 404)
    assert (other.content, other.headers["Cache-Control"]) == (missing.content, "no-store")


def test_photo_without_its_file_is_missing(ilse: Person, photo: Photo, signed_in: SignedIn) -> None:
    photo_path(photo.sha256).unlink()

    assert signed_in(ilse).get(address(photo.pk)).status_code == 404


def test_photo_asks_who_is_there(photo: Photo) -> None:
    response = Client().get(address(photo.pk))

    assert response.status_code == 302
    assert response.headers["Location"].startswith("/people/sign-in/")


def test_photo_is_only_looked_at(ilse: Person, photo: Photo, signed_in: SignedIn) -> None:
    client = signed_in(ilse)

    assert [client.post(address(photo.pk)).status_code, client.delete(address(photo.pk)).status_code] == [
        405,
        405,
    ]


@pytest.mark.parametrize(("who", "queries"), [("ilse", 3), ("tobiah", 4)])
def test_photo_takes_few_queries(
    *,
    request: pytest.FixtureRequest,
    photo: Photo,
    signed_in: SignedIn,
    django_assert_num_queries: DjangoAssertNumQueries,
    who: str,
    queries: int,
) -> None:
    client = signed_in(request.getfixturevalue(who))

    with django_assert_num_queries(queries):
        client.get(address(photo.pk))
