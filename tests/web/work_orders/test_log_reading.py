"""A reading is logged at the desk, or at the bench page with a connection."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Job, Person, Reading, ReadingValue
from tests.web.work_orders.test_readings import job

__all__ = ["job"]
SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
TYPED = {
    "reading": "compression",
    "value_1": "1050",
    "value_2": "1,000",
    "value_3": "870",
    "unit": "kpa",
    "warmth": "warm",
}


def test_reading_is_logged_once_and_its_verdict_said(
    job: Job, tobiah: Person, signed_in: SignedIn, key: Key
) -> None:
    client, sent = signed_in(tobiah), TYPED | key()

    answers = [client.post(f"/work-orders/job/{job.pk}/log-reading/", sent) for _ in range(2)]

    place = f"/work-orders/job/{job.pk}/readings/?reading=compression"
    assert [one.headers["Location"] for one in answers] == [place, place]
    assert (Reading.objects.get().verdict, ReadingValue.objects.count()) == ("out_of_limits", 3)
    assert "Logged: out of limits" in client.get(place).content.decode()


def test_leak_down_takes_one_supplied_pressure(
    job: Job, tobiah: Person, signed_in: SignedIn, key: Key
) -> None:
    sent = {"reading": "leak_down", "value": "100", "second_1": "92", "second_3": "80", "unit": "psi"}

    signed_in(tobiah).post(f"/work-orders/job/{job.pk}/log-reading/", sent | key())

    assert Reading.objects.get().verdict_words == (
        "no limit known; cylinder 1 loses 8 %: good; cylinder 3 loses 20 %: serviceable"
    )


def test_reading_without_a_figure_is_asked_for(
    job: Job, tobiah: Person, signed_in: SignedIn, key: Key
) -> None:
    answer = signed_in(tobiah).post(
        f"/work-orders/job/{job.pk}/log-reading/",
        {"reading": "compression", "unit": "kpa", "remark": "cold"} | key(),
    )

    content = answer.content.decode()
    assert (answer.status_code, Reading.objects.count()) == (422, 0)
    assert ("Give the figure of one cylinder or more." in content, 'value="cold"' in content) == (True, True)


def test_others_may_not_log(job: Job, wen: Person, signed_in: SignedIn, key: Key) -> None:
    answer = signed_in(wen).post(f"/work-orders/job/{job.pk}/log-reading/", TYPED | key())

    assert (answer.status_code, Reading.objects.count()) == (404, 0)
