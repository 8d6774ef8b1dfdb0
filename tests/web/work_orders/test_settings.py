"""How a job is set: engine, price kind, test, payer."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Job, Person, Stage
from tests.factories.jobs import agreed_job, job_at

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def typed(job: Job, **changes: object) -> dict[str, object]:
    return {
        "engine": job.engine_id,
        "test_kind": "tank",
        "price_kind": "fixed",
        "payer": "customer",
        "version": job.version,
    } | changes


def test_settings_are_saved(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.DIAGNOSIS)

    response = signed_in(ilse).post(
        f"/work-orders/job/{job.pk}/settings/", typed(job, price_kind="time", engine="") | key()
    )

    job.refresh_from_db()
    assert (response.status_code, job.price_kind, job.test_kind, job.engine) == (302, "time", "tank", None)


def test_locked_price_kind_is_said_at_the_field(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_LINE)

    response = signed_in(ilse).post(
        f"/work-orders/job/{job.pk}/settings/", typed(job, price_kind="time") | key()
    )

    assert response.status_code == 422
    assert "Fixed price: the customer has it on a quote" in response.content.decode()


def test_second_who_sets_sees_both_t22(ilse: Person, maren: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.DIAGNOSIS)
    signed_in(ilse).post(f"/work-orders/job/{job.pk}/settings/", typed(job) | key())

    response = signed_in(maren).post(
        f"/work-orders/job/{job.pk}/settings/", typed(job, test_kind="none") | key()
    )

    content = response.content.decode()
    assert response.status_code == 409
    assert ("In the tank" in content, "No test needed" in content) == (True, True)


def test_settings_are_the_desks(tobiah: Person, signed_in: SignedIn) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)

    assert signed_in(tobiah).get(f"/work-orders/job/{job.pk}/settings/").status_code == 403
