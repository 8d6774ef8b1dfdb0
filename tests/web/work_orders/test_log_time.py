"""Hours and minutes are logged."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import Activity, Person, Stage, TimeEntry
from tests.factories.jobs import agreed_job, plan_line
from tests.web.shared.hostile import troubles_with_bad_values
from tests.web.work_orders.posts import answer_to_get, looks_missing, sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
HOURS = {"line": "", "kind": "repair", "hours": "1", "minutes": "35"}


def address(pk: int) -> str:
    return f"/work-orders/job/{pk}/log-time/"


def test_time_sent_twice_is_logged_once(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    answers = sent_twice(signed_in(tobiah), address(job.pk), HOURS | key())

    row = TimeEntry.objects.get()
    assert answers == [(302, f"/work-orders/job/{job.pk}/bench/")] * 2
    assert (row.minutes, row.person, row.kind, Activity.objects.count()) == (95, tobiah, "repair", 1)


def test_time_as_planned_names_its_line(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    line = plan_line(job, "labour")

    signed_in(tobiah).post(address(job.pk), HOURS | {"line": line.pk} | key())

    assert (TimeEntry.objects.get().plan_line, TimeEntry.objects.get().unit_price_e4) == (line, 1_150_000)


def test_desk_logs_the_hours_of_a_technician(
    ilse: Person, wen: Person, signed_in: SignedIn, key: Key
) -> None:
    job = agreed_job(Stage.IN_HAND)

    signed_in(ilse).post(address(job.pk), HOURS | {"person": wen.pk} | key())

    assert (TimeEntry.objects.get().person, TimeEntry.objects.get().logged_by) == (wen, ilse)


def test_technician_posts_own_time_whatever_is_sent_t02(
    tobiah: Person, wen: Person, signed_in: SignedIn, key: Key
) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    hidden = {"person": wen.pk, "unit_cost": "1", "cost": "1", "wage": "1", "unit_price_e4": "1"}

    signed_in(tobiah).post(address(job.pk), HOURS | hidden | key())

    row = TimeEntry.objects.get()
    assert (row.person, row.unit_cost_e4, row.unit_price_e4) == (tobiah, None, 1_200_000)


@pytest.mark.parametrize(
    ("hours", "minutes", "field"),
    [
        ("", "", "hours"),
        ("0", "0", "hours"),
        ("24", "1", "hours"),
        ("1.5", "", "hours"),
        ("", "75", "minutes"),
    ],
)
def test_time_that_is_not_right_keeps_the_page(
    *, tobiah: Person, signed_in: SignedIn, key: Key, hours: str, minutes: str, field: str
) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    response = signed_in(tobiah).post(address(job.pk), HOURS | {"hours": hours, "minutes": minutes} | key())

    assert (response.status_code, TimeEntry.objects.count()) == (422, 0)
    assert f'id="time_{field}_error"' in response.content.decode()


def test_time_too_early_is_refused(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.HERE, technician=tobiah)

    response = signed_in(tobiah).post(address(job.pk), HOURS | key())

    assert (response.status_code, TimeEntry.objects.count()) == (409, 0)


def test_time_by_get_does_nothing(tobiah: Person, signed_in: SignedIn) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    assert answer_to_get(signed_in(tobiah), address(job.pk)) == (405, True)


def test_time_of_another_is_missing_t01(tobiah: Person, wen: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    answer = looks_missing(signed_in(wen), address(job.pk), pk=job.pk, data=HOURS | key())

    assert answer == (404, True, True)


def test_time_withstands_odd_values(ilse: Person, wen: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND)

    def good() -> dict[str, object]:
        # what was accepted goes, so that the page stays short
        TimeEntry.objects.all().delete()
        return HOURS | {"person": wen.pk} | key()

    found = troubles_with_bad_values(
        signed_in(ilse),
        address(job.pk),
        good=good,
        fields=["hours", "minutes", "kind", "person", "line"],
        hidden=["kind", "person", "line"],
    )

    assert found == []
