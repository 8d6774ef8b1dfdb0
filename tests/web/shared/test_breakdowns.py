"""Pages for what no rule foresaw: what happened, what is safe, what to do next, and never the insides."""

import logging
import re

import pytest
from django.conf import settings
from django.http import HttpResponse
from django.template.loader import render_to_string
from django.test import Client
from django.utils.html import strip_tags

from shopapp.models import CallSlip, Person
from shopapp.web.shared.refusals import storage_page

pytestmark = pytest.mark.django_db

PAGES = (
    "400.html",
    "403.html",
    "403_csrf.html",
    "404.html",
    "405.html",
    "413.html",
    "500.html",
    "not_stored.html",
)
SAFE = re.compile(r"[Nn]othing|none")


def breakdown() -> HttpResponse:
    return Client(raise_request_exception=False).get("/breaks/")


@pytest.mark.urls("tests.web.shared.breaking_urls")
def test_breakdown_has_a_number_that_stands_in_the_log(caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.ERROR, logger="shopapp.breakdowns"):
        response = breakdown()

    (logged,) = [record for record in caplog.records if record.name == "shopapp.breakdowns"]
    reference = response.headers["X-Reference"]
    assert (response.status_code, re.fullmatch(r"[A-Z2-9]{4}-[A-Z2-9]{4}", reference) is not None) == (
        500,
        True,
    )
    assert reference in response.content.decode()
    assert logged.getMessage() == f"breakdown {reference} in GET breaks"
    assert "secret insides of the shop" in str(logged.exc_info[1])


@pytest.mark.urls("tests.web.shared.breaking_urls")
def test_breakdown_shows_nothing_of_the_program() -> None:
    page = breakdown().content.decode()

    assert "secret insides" not in page
    assert re.findall(r"Traceback|ValueError|\.py|SELECT", page) == []


@pytest.mark.urls("tests.web.shared.breaking_urls")
def test_each_breakdown_has_its_own_number() -> None:
    assert len({breakdown().headers["X-Reference"] for _ in range(20)}) == 20


@pytest.mark.urls("tests.web.shared.breaking_urls")
def test_breakdown_asks_nothing_of_the_database(django_assert_num_queries: object) -> None:
    """The database may be what broke."""
    with django_assert_num_queries(0):
        assert breakdown().status_code == 500


def test_too_much_at_once_is_413_and_stores_nothing(ilse: Person, signed_in: object) -> None:
    client = signed_in(ilse)
    text = "x" * (settings.DATA_UPLOAD_MAX_MEMORY_SIZE + 1)

    response = client.post("/calls/new/", {"about": text})

    assert (response.status_code, CallSlip.objects.count()) == (413, 0)
    assert "too large to send" in response.content.decode()
    assert response.headers["Cache-Control"] == "no-store"


def test_too_many_fields_are_413(ilse: Person, signed_in: object) -> None:
    fields = {f"field_{number}": "x" for number in range(settings.DATA_UPLOAD_MAX_NUMBER_FIELDS + 1)}

    assert signed_in(ilse).post("/calls/new/", fields).status_code == 413


def test_nonsense_is_400_in_words() -> None:
    response = Client().get("/people/sign-in/", headers={"host": "evil.example"})

    assert (response.status_code, "could not read that" in response.content.decode()) == (400, True)
    assert "evil.example" not in response.content.decode()


def test_address_for_forms_says_so_to_who_looks(ilse: Person, signed_in: object) -> None:
    response = signed_in(ilse).get("/today/park/")

    assert (response.status_code, response.headers["Allow"]) == (405, "POST")
    assert "only takes what a form sends" in response.content.decode()


def test_full_database_says_when_to_look_again() -> None:
    assert (storage_page().status_code, storage_page().headers["Retry-After"]) == (503, "30")


@pytest.mark.parametrize("name", PAGES)
def test_page_says_what_happened_what_is_safe_and_what_to_do(
    name: str, django_assert_num_queries: object
) -> None:
    with django_assert_num_queries(0):
        page = render_to_string(name)

    words = [strip_tags(part).strip() for part in re.findall(r"<p[^>]*>(.*?)</p>", page, re.DOTALL)]
    assert len(words) >= 3
    assert all(sentence.endswith((".", ":")) for sentence in words[:3])
    assert SAFE.search(words[1])
    assert page.count("<h1>") == 1
    assert "<style" not in page
    assert " style=" not in page
