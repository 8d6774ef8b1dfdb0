"""The owner lets a job go without its test."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Person, Stage
from tests.factories.jobs import agreed_job

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def test_waiver_is_kept_and_shown(maren: Person, signed_in: SignedIn, key: Key) -> None:
    job, client = agreed_job(Stage.TEST), signed_in(maren)

    client.post(f"/work-orders/job/{job.pk}/waiver/", {"reason": "ice on the inlet"} | key())

    job.refresh_from_db()
    content = client.get(f"/work-orders/{job.work_order_id}/").content.decode()
    assert (job.stage, job.waived_by) == ("ready", maren)
    assert "<dt>Without its test</dt><dd>ice on the inlet</dd>" in content


def test_waiver_is_the_owners_alone(ilse: Person, tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)

    statuses = [
        signed_in(one).post(f"/work-orders/job/{job.pk}/waiver/", {"reason": "x"} | key()).status_code
        for one in (ilse, tobiah)
    ]

    job.refresh_from_db()
    assert (statuses, job.stage) == ([403, 403], "test")


def test_only_the_owner_sees_the_way_to_it(ilse: Person, maren: Person, signed_in: SignedIn) -> None:
    job = agreed_job(Stage.TEST)

    found = [
        "/waiver/" in signed_in(one).get(f"/work-orders/{job.work_order_id}/").content.decode()
        for one in (ilse, maren)
    ]

    assert found == [False, True]
