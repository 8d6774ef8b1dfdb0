"""A visit is called off before anything came of it."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Person, Stage
from tests.factories.jobs import agreed_job, job_at
from tests.web.work_orders.posts import sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
OFF = {"reason": "sold the boat", "gone_to": "Aud Nilsen"}


def test_calling_off_closes_the_visit_once(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    work_order, client = job_at(Stage.HERE).work_order, signed_in(ilse)

    answers = sent_twice(client, f"/work-orders/{work_order.pk}/calling-off/", OFF | key())

    work_order.refresh_from_db()
    content = client.get(f"/work-orders/{work_order.pk}/").content.decode()
    assert answers == [(302, f"/work-orders/{work_order.pk}/")] * 2
    assert (work_order.stage, "sold the boat" in content) == ("cancelled", True)
    assert "/calling-off/" not in content


def test_page_says_why_a_visit_can_not_be_called_off(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    work_order, client = agreed_job(Stage.IN_LINE).work_order, signed_in(ilse)

    content = client.get(f"/work-orders/{work_order.pk}/calling-off/").content.decode()
    response = client.post(f"/work-orders/{work_order.pk}/calling-off/", OFF | key())

    assert "The customer was asked by a quote. Say for each job how it ended instead." in content
    assert response.status_code == 409


def test_calling_off_is_the_desks(tobiah: Person, signed_in: SignedIn) -> None:
    job = job_at(Stage.HERE, technician=tobiah)

    assert signed_in(tobiah).get(f"/work-orders/{job.work_order_id}/calling-off/").status_code == 403
