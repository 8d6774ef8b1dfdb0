"""The owner says from which earlier job one comes; nobody else reads a word of it (invariant 6)."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client

from shopapp.models import Job, Outcome, Person, Stage
from tests.factories import JobFactory, WorkOrderFactory
from tests.factories.jobs import job_at

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


@pytest.fixture
def pair(tobiah: Person) -> tuple[Job, Job]:
    """A job, and one that was done on the same boat eleven days before."""
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)
    visit = WorkOrderFactory(
        number="W-ELDER",
        vessel=job.work_order.vessel,
        customer=job.work_order.customer,
        stage=Stage.GONE,
        opened_at=job.work_order.opened_at - timedelta(days=11),
        gone_at=job.work_order.opened_at,
    )
    elder = JobFactory(
        work_order=visit, stage=Stage.GONE, outcome=Outcome.DONE, complaint="Service", technician=tobiah
    )
    return job, elder


def test_cause_is_found_both_ways(
    maren: Person, pair: tuple[Job, Job], signed_in: SignedIn, key: Key
) -> None:
    job, elder = pair
    client = signed_in(maren)

    form = client.get(f"/work-orders/job/{job.pk}/cause/").content.decode()
    client.post(f"/work-orders/job/{job.pk}/cause/", {"job": elder.pk, "version": 1} | key())

    pages = [client.get(f"/work-orders/{one.work_order_id}/").content.decode() for one in pair]
    assert "W-ELDER, 1: Service" in form
    assert (f"/#job-{elder.pk}" in pages[0], "Comes from" in pages[0]) == (True, True)
    assert (f"/#job-{job.pk}" in pages[1], "Came of it" in pages[1]) == (True, True)


@pytest.mark.parametrize(("word", "is_same"), [("yes", True), ("no", False), ("", None)])
def test_owner_is_asked_whether_it_is_the_same_trouble(
    *,
    maren: Person,
    pair: tuple[Job, Job],
    signed_in: SignedIn,
    key: Key,
    word: str,
    is_same: bool | None,
) -> None:
    job, elder = pair
    client, address = signed_in(maren), f"/work-orders/job/{job.pk}/cause/"

    client.post(address, {"job": elder.pk, "same_cause": word, "version": 1} | key())

    job.refresh_from_db()
    chosen = [line for line in client.get(address).content.decode().splitlines() if " checked" in line]
    assert (job.is_for_same_cause, len(chosen)) == (is_same, 2)
    assert f'value="{word}"' in chosen[1]


def test_second_owner_sees_what_the_first_judged(
    maren: Person, pair: tuple[Job, Job], signed_in: SignedIn, key: Key
) -> None:
    job, elder = pair
    client, address = signed_in(maren), f"/work-orders/job/{job.pk}/cause/"
    client.post(address, {"job": elder.pk, "same_cause": "yes", "version": 1} | key())

    answer = client.post(address, {"job": elder.pk, "same_cause": "no", "version": 1} | key())

    job.refresh_from_db()
    assert (answer.status_code, job.is_for_same_cause) == (409, True)
    assert "Is it the same trouble again?" in answer.content.decode()


@pytest.mark.parametrize("who", ["ilse", "tobiah"])
def test_nobody_else_reads_it(
    *, request: pytest.FixtureRequest, pair: tuple[Job, Job], signed_in: SignedIn, who: str
) -> None:
    job, elder = pair
    Job.objects.filter(pk=job.pk).update(caused_by_job=elder)
    client = signed_in(request.getfixturevalue(who))

    pages = [client.get(f"/work-orders/{one.work_order_id}/").content.decode() for one in pair]
    door = client.get(f"/work-orders/job/{job.pk}/cause/").status_code

    assert door == 403
    assert "W-ELDER" not in pages[0]
    assert [
        words for words in ("Comes from", "Came of it", "comeback") for page in pages if words in page
    ] == []
