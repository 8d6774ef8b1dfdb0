"""A day of the shop: who was on what, what runs, and which clocks were forgotten."""

import uuid
from collections.abc import Callable
from datetime import datetime, timedelta

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from shopapp.models import ClockSpan, Job, Person, Stage
from tests.factories.jobs import job_at

pytestmark = pytest.mark.django_db

ADDRESS = "/time-sheets/?day=2026-06-02"
SignedIn = Callable[[Person], Client]


def span(person: Person, job: Job | None, on_at: datetime, minutes: float | None) -> ClockSpan:
    return ClockSpan.objects.create(
        mark=uuid.uuid4(),
        person=person,
        job=job,
        kind="repair" if job is not None else "yard",
        on_at=on_at,
        stopped_at=on_at + timedelta(minutes=minutes) if minutes is not None else None,
    )


def test_index_adds_up_jobs_and_what_is_nobodys(
    ilse: Person, tobiah: Person, wen: Person, signed_in: SignedIn, now: datetime
) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    span(tobiah, job, now, 95)
    span(tobiah, None, now + timedelta(minutes=95), 30)
    span(wen, job, now, 10)
    span(wen, job, now - timedelta(days=1), 10)

    content = " ".join(signed_in(ilse).get(ADDRESS).content.decode().split())

    assert content.count("on jobs 1 h 35 min · besides 30 min") == 1
    assert content.count("on jobs 10 min · besides –") == 1
    assert content.count(f'href="/work-orders/{job.work_order_id}/"') == 2


def test_index_leads_to_forgotten_clocks_of_any_day(
    ilse: Person, tobiah: Person, signed_in: SignedIn, now: datetime
) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    long_ago = span(tobiah, job, now - timedelta(days=40), 13 * 60)
    runs = span(tobiah, job, timezone.now() - timedelta(hours=13), None)
    fine = span(tobiah, job, timezone.now() - timedelta(minutes=1), None)

    content = signed_in(ilse).get(ADDRESS).content.decode()

    links = [content.count(f'href="/time-sheets/{one.pk}/correct/"') for one in (long_ago, runs, fine)]
    assert links == [1, 1, 0]


@pytest.mark.parametrize("size", [1, 60])
def test_index_takes_five_queries(
    ilse: Person,
    tobiah: Person,
    signed_in: SignedIn,
    now: datetime,
    django_assert_num_queries: DjangoAssertNumQueries,
    size: int,
) -> None:
    client = signed_in(ilse)
    for number in range(size):
        job = job_at(Stage.IN_HAND, technician=tobiah)
        span(tobiah, job, now + timedelta(minutes=number), 1)

    with django_assert_num_queries(5):
        client.get(ADDRESS)


@pytest.mark.parametrize("day", ["yesterday", "2026-13-40", ""])
def test_index_shows_today_for_a_day_there_is_not(ilse: Person, signed_in: SignedIn, day: str) -> None:
    assert signed_in(ilse).get("/time-sheets/", {"day": day}).status_code == 200
