"""My jobs: a technician's own open jobs, which their tablet may keep."""

from collections.abc import Callable

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.models import Person, Stage
from tests.factories import JobFactory
from tests.factories.jobs import job_at
from tests.web.bench.told import words_of

SignedIn = Callable[[Person], Client]


def test_technician_by_pin_begins_with_their_jobs(tobiah: Person, by_pin: SignedIn) -> None:
    assert by_pin(tobiah).get("/")["Location"] == "/bench/"


def test_only_own_open_jobs_are_listed(tobiah: Person, wen: Person, by_pin: SignedIn) -> None:
    mine = job_at(Stage.IN_HAND, technician=tobiah)
    others = [job_at(Stage.IN_HAND, technician=wen), job_at(Stage.CANCELLED, technician=tobiah)]

    content = by_pin(tobiah).get("/bench/").content.decode()

    assert f'href="/bench/job/{mine.pk}/"' in content
    assert [f"/bench/job/{job.pk}/" in content for job in others] == [False, False]


def test_what_is_in_hand_comes_first(tobiah: Person, by_pin: SignedIn) -> None:
    jobs = [
        job_at(stage, technician=tobiah)
        for stage in (Stage.BOOKED, Stage.READY, Stage.HERE, Stage.TEST, Stage.IN_HAND)
    ]

    content = by_pin(tobiah).get("/bench/").content.decode()

    places = [content.index(f"/bench/job/{job.pk}/") for job in (jobs[4], jobs[3], jobs[2], jobs[1], jobs[0])]
    assert places == sorted(places)


def test_list_may_be_kept_for_whoever_gave_the_pin(tobiah: Person, maren: Person, by_pin: SignedIn) -> None:
    kept = [by_pin(person).get("/bench/")["X-Shopapp-Kept-For"] for person in (tobiah, maren)]

    assert kept == [str(tobiah.pk), str(maren.pk)]


def test_browser_at_the_desk_keeps_nothing(tobiah: Person, signed_in: SignedIn) -> None:
    answer = signed_in(tobiah).get("/bench/")

    assert (answer.status_code, "X-Shopapp-Kept-For" in answer) == (200, False)


def test_list_names_no_customer(tobiah: Person, by_pin: SignedIn) -> None:
    job = JobFactory.create(
        technician=tobiah,
        work_order__stage="diagnosis",
        work_order__customer__name="Aud Nilsen",
        work_order__customer__phone="+1 902 555 0144",
        work_order__customer__address="4 Kelp Lane",
    )
    client = by_pin(tobiah)

    pages = words_of(client, "/bench/") + words_of(client, f"/bench/job/{job.pk}/")

    assert [word in pages for word in ("Aud Nilsen", "555 0144", "Kelp Lane")] == [False, False, False]
    assert job.work_order.number in pages


def test_empty_list_says_what_comes_next(tobiah: Person, by_pin: SignedIn) -> None:
    assert "No job is yours at the moment." in by_pin(tobiah).get("/bench/").content.decode()


def test_long_list_is_cut_and_says_so(tobiah: Person, by_pin: SignedIn) -> None:
    JobFactory.create_batch(61, technician=tobiah)

    content = by_pin(tobiah).get("/bench/").content.decode()

    assert content.count('class="my-job"') == 60
    assert "There are more than these." in content


@pytest.mark.parametrize("count", [1, 30])
def test_list_takes_seven_queries(
    *, tobiah: Person, by_pin: SignedIn, count: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    JobFactory.create_batch(count, technician=tobiah)
    client = by_pin(tobiah)

    with django_assert_num_queries(7):
        client.get("/bench/")
