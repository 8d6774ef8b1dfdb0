"""The request key of a form: what counts as the same send, and what is no key at all."""

import uuid
from collections.abc import Callable

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpRequest
from django.test import RequestFactory

from shopapp.actions.actor import Actor
from shopapp.calc.errors import BadInput
from shopapp.models import Person, RequestKey
from shopapp.web.shared.once import once

pytestmark = pytest.mark.django_db

KEY = str(uuid.UUID(int=7))


def sent(path: str = "/a/", **data: object) -> HttpRequest:
    return RequestFactory().post(path, {"once_key": KEY, **data})


def photo(content: bytes, name: str = "a.jpg") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content)


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ({"a": "1"}, {"a": "1"}),
        ({"a": "1", "b": "2"}, {"b": "2", "a": "1"}),
        ({"a": "1", "csrfmiddlewaretoken": "x"}, {"a": "1", "csrfmiddlewaretoken": "y"}),
        ({"a": ["1", "2"]}, {"a": ["1", "2"]}),
    ],
)
def test_same_content_gets_the_stored_outcome_t19(
    ilse: Person, by: Callable[[Person], Actor], first: dict[str, object], second: dict[str, object]
) -> None:
    once(sent(**first), lambda: "/there/", by=by(ilse))

    answer = once(sent(**second), lambda: "/elsewhere/", by=by(ilse))

    assert answer == "/there/"


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ({"a": "1"}, {"a": "2"}),
        ({"a": "1"}, {}),
        ({"a": "1"}, {"b": "1"}),
        ({"a": ["1", "2"]}, {"a": ["2", "1"]}),
        ({"a": "1", "b": "2"}, {"a": "1\x01b\x002"}),
        ({"a": ""}, {"b": ""}),
    ],
)
def test_other_content_is_refused_t20(
    ilse: Person, by: Callable[[Person], Actor], first: dict[str, object], second: dict[str, object]
) -> None:
    once(sent(**first), lambda: "/there/", by=by(ilse))

    with pytest.raises(BadInput, match="other content"):
        once(sent(**second), lambda: "/elsewhere/", by=by(ilse))


def test_other_address_is_other_content_t20(ilse: Person, by: Callable[[Person], Actor]) -> None:
    once(sent("/a/"), lambda: "/there/", by=by(ilse))

    with pytest.raises(BadInput, match="other content"):
        once(sent("/b/"), lambda: "/elsewhere/", by=by(ilse))


def test_photo_counts_by_its_bytes_and_name_t20(ilse: Person, by: Callable[[Person], Actor]) -> None:
    once(sent(photo=photo(b"one")), lambda: "/there/", by=by(ilse))

    again = once(sent(photo=photo(b"one")), lambda: "/elsewhere/", by=by(ilse))
    with pytest.raises(BadInput, match="other content"):
        once(sent(photo=photo(b"two")), lambda: "/elsewhere/", by=by(ilse))
    with pytest.raises(BadInput, match="other content"):
        once(sent(photo=photo(b"one", "b.jpg")), lambda: "/elsewhere/", by=by(ilse))

    assert again == "/there/"


def test_photo_may_be_read_by_the_effect(ilse: Person, by: Callable[[Person], Actor]) -> None:
    request = sent(photo=photo(b"one"))

    answer = once(request, lambda: f"/{request.FILES['photo'].read().decode()}/", by=by(ilse))

    assert answer == "/one/"


@pytest.mark.parametrize("key", ["", "7", "not a key", "{}", "0" * 33, "\x00"])
def test_nonsense_is_no_key(ilse: Person, by: Callable[[Person], Actor], key: str) -> None:
    request = RequestFactory().post("/a/", {"once_key": key})

    with pytest.raises(BadInput, match="open the page again"):
        once(request, lambda: "/there/", by=by(ilse))

    assert RequestKey.objects.count() == 0
