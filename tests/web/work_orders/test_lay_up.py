"""The button that writes down that an engine is fogged and laid up, and what pages say from then on."""

from collections.abc import Callable
from datetime import datetime

import pytest
from django.test import Client

from shopapp.models import Activity, Engine, Person, Stage
from tests.factories.jobs import agreed_job, job_at, lay_up
from tests.web.bench.conftest import by_pin
from tests.web.work_orders.posts import answer_to_get, looks_missing, sent_twice

__all__ = ["by_pin"]
SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
SINCE = "Fogged and laid up since 2 Jun 2026, 10:30"
ASKED = "It is fogged and laid up</button>"
BACK = "It is back in service</button>"


def address(pk: int) -> str:
    return f"/work-orders/job/{pk}/lay-up/"


def test_lay_up_sent_twice_is_written_once(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.READY, technician=tobiah)

    answers = sent_twice(signed_in(tobiah), address(job.pk), key())

    assert answers == [(302, f"/work-orders/{job.work_order_id}/#job-{job.pk}")] * 2
    assert (Engine.objects.get().laid_up_on, Activity.objects.count()) == (job, 1)


def test_at_a_tablet_it_leads_back_to_the_bench(tobiah: Person, by_pin: SignedIn, key: Key) -> None:
    job, client = job_at(Stage.READY, technician=tobiah), by_pin(tobiah)
    assert ASKED in client.get(f"/bench/job/{job.pk}/").content.decode()

    answer = client.post(address(job.pk), key(), follow=True)

    content = answer.content.decode()
    assert answer.redirect_chain == [(f"/bench/job/{job.pk}/", 302)]
    assert (BACK in content, ASKED in content, "It is not run again." in content) == (True, False, True)


def test_lay_up_before_the_test_is_refused(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)

    answer = signed_in(tobiah).post(address(job.pk), key())

    assert (answer.status_code, Engine.objects.get().laid_up_at) == (409, None)
    assert "Test first, then fog" in answer.content.decode()


@pytest.mark.parametrize(
    "path",
    [
        "/bench/job/{job}/",
        "/work-orders/job/{job}/bench/",
        "/work-orders/{visit}/",
        "/work-orders/job/{job}/readings/?reading=voltage",
        "/work-orders/job/{job}/readings/?reading=compression",
    ],
)
def test_pages_that_send_a_person_to_the_engine_say_it(
    tobiah: Person, signed_in: SignedIn, now: datetime, path: str
) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)
    client, place = signed_in(tobiah), path.format(job=job.pk, visit=job.work_order_id)
    assert SINCE not in client.get(place).content.decode()
    lay_up(job, tobiah, at=now)

    content = client.get(place).content.decode()

    assert (SINCE in content, "Do not start it" in content, "signs.svg#laid-up" in content) == (
        True,
        True,
        True,
    )
    # the caution for running engines would say the opposite
    assert "Before it runs</strong>" not in content


def test_arrival_and_boat_say_it(ilse: Person, tobiah: Person, signed_in: SignedIn, now: datetime) -> None:
    job = job_at(Stage.CANCELLED, technician=tobiah)
    lay_up(job, tobiah, at=now)
    client, vessel = signed_in(ilse), job.work_order.vessel_id

    arrival = client.get(f"/arrivals/new/?vessel={vessel}").content.decode()
    boat = client.get(f"/customers/vessel/{vessel}/").content.decode()

    assert (SINCE in arrival, "Do not start it" in arrival) == (True, True)
    assert "<span>fogged and laid up</span></span> since 2 Jun 2026, 10:30" in boat


def test_lay_up_by_get_does_nothing(tobiah: Person, signed_in: SignedIn) -> None:
    job = job_at(Stage.READY, technician=tobiah)

    assert answer_to_get(signed_in(tobiah), address(job.pk)) == (405, True)


def test_lay_up_on_anothers_job_is_missing_t01(
    tobiah: Person, wen: Person, signed_in: SignedIn, key: Key
) -> None:
    job = job_at(Stage.READY, technician=tobiah)

    assert looks_missing(signed_in(wen), address(job.pk), pk=job.pk, data=key()) == (404, True, True)
