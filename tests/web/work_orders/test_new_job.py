"""One more job on an open visit: the desk's, or what a technician found."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Job, Person, Stage
from tests.factories import EngineFactory
from tests.factories.jobs import agreed_job, job_at
from tests.web.shared.hostile import troubles_with_bad_values
from tests.web.work_orders.posts import sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
TRIM = {
    "complaint": "Trim is stuck",
    "engine": "",
    "test_kind": "hose",
    "price_kind": "ceiling",
    "payer": "customer",
}


def address(job: Job) -> str:
    return f"/work-orders/{job.work_order_id}/new-job/"


def test_new_job_sent_twice_is_one_job(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    first = job_at(Stage.HERE)
    port = EngineFactory(vessel=first.work_order.vessel)

    answers = sent_twice(signed_in(ilse), address(first), TRIM | {"engine": port.pk} | key())

    assert answers == [(302, f"/work-orders/{first.work_order_id}/")] * 2
    rows = Job.objects.filter(position=2).values_list("complaint", "engine", "test_kind", "price_kind")
    assert list(rows) == [("Trim is stuck", port.pk, "hose", "ceiling")]


def test_technician_is_asked_no_prices(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    first, client = agreed_job(Stage.IN_HAND, technician=tobiah), signed_in(tobiah)

    content = client.get(address(first)).content.decode()
    client.post(address(first), TRIM | {"price_kind": "time", "payer": "shop"} | key())

    job = Job.objects.get(position=2)
    assert [name for name in ("price_kind", "payer") if f'name="{name}"' in content] == []
    assert (job.price_kind, job.payer, job.stage) == ("fixed", "customer", "diagnosis")


def test_new_job_without_words_keeps_the_form(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    response = signed_in(ilse).post(address(job_at(Stage.HERE)), TRIM | {"complaint": " "} | key())

    assert (response.status_code, Job.objects.count()) == (422, 1)
    assert "What is wrong? is missing. Please fill it in." in response.content.decode()


def test_new_job_withstands_odd_values(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.HERE)

    def good() -> dict[str, str]:
        # a visit has at most forty jobs
        Job.objects.filter(position__gt=1).delete()
        return TRIM | key()

    found = troubles_with_bad_values(
        signed_in(ilse),
        address(job),
        good=good,
        fields=list(TRIM),
        hidden=["engine", "test_kind", "price_kind", "payer"],
    )

    assert found == []
