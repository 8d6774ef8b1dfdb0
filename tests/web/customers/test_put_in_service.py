"""The desk puts a laid-up engine back in service on its own page, without a job."""

from collections.abc import Callable
from datetime import datetime

from django.test import Client

from shopapp.models import Activity, Engine, Person, Stage
from tests.factories.jobs import job_at, lay_up
from tests.web.work_orders.posts import answer_to_get, sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def address(pk: int) -> str:
    return f"/customers/engine/{pk}/put-in-service/"


def test_engine_page_says_since_when_and_on_which_job(
    ilse: Person, tobiah: Person, signed_in: SignedIn, now: datetime
) -> None:
    job = job_at(Stage.CANCELLED, technician=tobiah)
    lay_up(job, tobiah, at=now)

    content = signed_in(ilse).get(f"/customers/engine/{job.engine_id}/").content.decode()

    for piece in (
        "Fogged and laid up since 2 Jun 2026, 10:30</strong>, Tobiah Reyes",
        f"Fogged on {job.work_order.number}</a>",
        "It is back in service</button>",
    ):
        assert content.count(piece) == 1, piece


def test_put_in_service_sent_twice_is_written_once(
    ilse: Person, tobiah: Person, signed_in: SignedIn, key: Key, now: datetime
) -> None:
    job = job_at(Stage.CANCELLED, technician=tobiah)
    lay_up(job, tobiah, at=now)

    answers = sent_twice(signed_in(ilse), address(job.engine_id), key())

    assert answers == [(302, f"/customers/engine/{job.engine_id}/")] * 2
    assert (Engine.objects.get().laid_up_at, Activity.objects.count()) == (None, 1)


def test_technician_gets_403_and_the_rest_nothing(
    ilse: Person, tobiah: Person, signed_in: SignedIn, key: Key, now: datetime
) -> None:
    job = job_at(Stage.CANCELLED, technician=tobiah)
    lay_up(job, tobiah, at=now)

    assert signed_in(tobiah).post(address(job.engine_id), key()).status_code == 403
    assert signed_in(ilse).post(address(999_999), key()).status_code == 404
    assert answer_to_get(signed_in(ilse), address(job.engine_id)) == (405, True)
    assert Engine.objects.get().laid_up_at == now
