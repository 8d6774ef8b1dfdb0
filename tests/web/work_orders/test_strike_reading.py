"""A wrong reading is struck out and stays readable."""

from collections.abc import Callable

from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.actions.readings import log_reading
from shopapp.models import Job, Person, Reading
from tests.actions.test_readings import WARM
from tests.web.work_orders.test_readings import job

__all__ = ["job"]
SignedIn = Callable[[Person], Client]
By = Callable[[Person], Actor]
Key = Callable[[], dict[str, str]]


def test_reading_is_struck_with_a_reason(
    *, job: Job, tobiah: Person, wen: Person, signed_in: SignedIn, by: By, key: Key
) -> None:
    row = log_reading(job.pk, WARM, by=by(tobiah))
    address, client = f"/work-orders/reading/{row.pk}/strike-reading/", signed_in(tobiah)

    missing = client.post(address, {"reason": " "} | key())
    others = signed_in(wen).post(address, {"reason": "Not mine"} | key())
    struck = client.post(address, {"reason": "Throttle was shut"} | key())

    assert (missing.status_code, others.status_code, struck.status_code) == (422, 404, 302)
    assert Reading.objects.get().struck_reason == "Throttle was shut"
    page = client.get(f"/work-orders/job/{job.pk}/readings/").content.decode()
    assert "struck out: Throttle was shut (Tobiah Reyes)" in page
