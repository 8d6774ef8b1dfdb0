"""What is left of a planned part is logged by one tap."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import PartUsed, Person, Stage
from tests.factories.jobs import agreed_job, plan_line
from tests.web.work_orders.posts import answer_to_get, looks_missing, sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def address(pk: int) -> str:
    return f"/work-orders/job/{pk}/use-planned/"


def test_one_tap_logs_what_is_left(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    line = plan_line(job, "part")
    client = signed_in(tobiah)
    assert f'action="{address(job.pk)}"' in client.get(f"/work-orders/job/{job.pk}/bench/").content.decode()

    answers = sent_twice(client, address(job.pk), {"line": line.pk} | key())

    row = PartUsed.objects.get()
    assert answers == [(302, f"/work-orders/job/{job.pk}/bench/")] * 2
    assert (row.plan_line, row.quantity_milli, row.unit_price_e4) == (line, 2_000, 184_000)
    assert f'action="{address(job.pk)}"' not in client.get(answers[0][1]).content.decode()


@pytest.mark.parametrize("kind", ["labour", "fluid"])
def test_hours_and_fluids_need_figures(tobiah: Person, signed_in: SignedIn, key: Key, kind: str) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    response = signed_in(tobiah).post(address(job.pk), {"line": plan_line(job, kind).pk} | key())

    assert response.status_code == 422


def test_one_tap_of_another_looks_missing_t01(
    tobiah: Person, wen: Person, signed_in: SignedIn, key: Key
) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    data = {"line": plan_line(job, "part").pk} | key()

    assert looks_missing(signed_in(wen), address(job.pk), pk=job.pk, data=data) == (404, True, True)
    assert answer_to_get(signed_in(tobiah), address(job.pk)) == (405, True)
