"""The watchdog's page."""

import pytest
from django.test import Client

pytestmark = pytest.mark.django_db


def test_health_answers_without_a_sign_in() -> None:
    response = Client().get("/health/")

    assert (response.status_code, response.content) == (200, b"afloat")


def test_health_changes_nothing_by_post() -> None:
    assert Client().post("/health/").status_code == 405
