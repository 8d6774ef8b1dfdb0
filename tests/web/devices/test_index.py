"""The owner's list of tablets: who works where, last seen when; the same queries for one and for many."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from shopapp.models import Device, Person
from tests.factories.devices import enrolled

SignedIn = Callable[[Person], Client]


def test_list_shows_who_works_where(
    maren: Person, tobiah: Person, signed_in: SignedIn, by_pin: SignedIn
) -> None:
    by_pin(tobiah)
    Device.objects.update(name="Dock tablet")

    content = signed_in(maren).get("/devices/").content.decode()

    assert [content.count(word) for word in ("Dock tablet", "Tobiah Reyes", "12 minutes")] == [2, 1, 1]


def test_list_without_tablets_says_what_to_do(maren: Person, signed_in: SignedIn) -> None:
    content = signed_in(maren).get("/devices/").content.decode()

    assert "No tablet is enrolled. Open this page on the tablet itself" in content


@pytest.mark.parametrize("count", [1, 30])
def test_list_asks_as_much_for_many(
    maren: Person, signed_in: SignedIn, django_assert_num_queries: DjangoAssertNumQueries, count: int
) -> None:
    for number in range(count):
        enrolled(maren, at=timezone.now(), name=f"Tablet {number}")
    client = signed_in(maren)

    with django_assert_num_queries(6):
        response = client.get("/devices/")

    assert response.content.decode().count("/end/") == count


def test_list_names_whose_pin_is_shut(
    maren: Person, tobiah: Person, signed_in: SignedIn, tablet: Client
) -> None:
    for _ in range(5):
        tablet.post(f"/devices/worker/{tobiah.pk}/pin/", {"secret": "915372"})

    content = signed_in(maren).get("/devices/").content.decode()

    assert ("Too many wrong PINs" in content, "Tobiah Reyes" in content) == (True, True)
