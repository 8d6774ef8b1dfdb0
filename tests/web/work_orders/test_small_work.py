"""Small work begins under the signed spending limit."""

from collections.abc import Callable

from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Person, Stage
from tests.actions.test_start_within_limit import sign
from tests.factories.jobs import job_at

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def test_small_work_says_what_is_left_and_begins(
    ilse: Person, by: Callable[[Person], Actor], signed_in: SignedIn, key: Key
) -> None:
    job, client = job_at(Stage.DIAGNOSIS), signed_in(ilse)
    sign(job.work_order, by(ilse))

    content = client.get(f"/work-orders/job/{job.pk}/small-work/").content.decode()
    response = client.post(f"/work-orders/job/{job.pk}/small-work/", {"amount": "150.00"} | key())

    job.refresh_from_db()
    assert "The customer signed a limit of $200.00; $200.00 of it is left, without tax." in content
    assert (response.status_code, job.stage, job.limit_share_minor) == (302, "in_hand", 15_000)


def test_small_work_beyond_the_limit_is_refused(
    ilse: Person, by: Callable[[Person], Actor], signed_in: SignedIn, key: Key
) -> None:
    job = job_at(Stage.DIAGNOSIS)
    sign(job.work_order, by(ilse))

    response = signed_in(ilse).post(f"/work-orders/job/{job.pk}/small-work/", {"amount": "201"} | key())

    job.refresh_from_db()
    assert (response.status_code, job.stage) == (409, "diagnosis")


def test_small_work_is_not_for_technicians(tobiah: Person, signed_in: SignedIn) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)

    assert signed_in(tobiah).get(f"/work-orders/job/{job.pk}/small-work/").status_code == 403
