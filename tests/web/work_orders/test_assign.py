"""The desk puts technicians on jobs, and takes them off."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Activity, JobAssignment, Person, Stage
from tests.factories.jobs import job_at
from tests.web.shared.hostile import row_counts, troubles_with_bad_values
from tests.web.work_orders.posts import answer_to_get, sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def address(pk: int) -> str:
    return f"/work-orders/job/{pk}/assign/"


def test_assign_sent_twice_assigns_once(ilse: Person, wen: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.HERE)

    answers = sent_twice(signed_in(ilse), address(job.pk), {"person": wen.pk} | key())

    assert answers == [(302, f"/work-orders/{job.work_order_id}/")] * 2
    assert list(JobAssignment.objects.values_list("job", "person")) == [(job.pk, wen.pk)]
    assert Activity.objects.count() == 1


def test_assign_takes_a_technician_off(ilse: Person, wen: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.HERE, technician=wen)

    signed_in(ilse).post(address(job.pk), {"person": wen.pk, "take_off": "on"} | key())

    assert JobAssignment.objects.count() == 0


def test_assign_takes_technicians_only(ilse: Person, maren: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.HERE)

    response = signed_in(ilse).post(address(job.pk), {"person": maren.pk} | key())

    assert (response.status_code, JobAssignment.objects.count()) == (422, 0)
    assert 'id="error-summary"' in response.content.decode()


def test_assign_ignores_a_posted_role_t02(ilse: Person, wen: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.HERE)
    hidden = {"role": "owner", "is_owner": "on", "wage": "1", "hourly_e4": "1", "cost": "1"}

    signed_in(ilse).post(address(job.pk), {"person": wen.pk} | hidden | key())

    wen.refresh_from_db()
    ilse.refresh_from_db()
    assert (wen.is_owner, ilse.is_owner, wen.wages.count()) == (False, False, 0)


def test_assign_is_not_for_technicians(tobiah: Person, wen: Person, signed_in: SignedIn, key: Key) -> None:
    job, client = job_at(Stage.HERE, technician=tobiah), signed_in(tobiah)

    statuses = [client.post(address(pk), {"person": wen.pk} | key()).status_code for pk in (job.pk, 999_999)]

    assert (statuses, JobAssignment.objects.count()) == ([403, 403], 1)


def test_assign_by_get_does_nothing(ilse: Person, signed_in: SignedIn) -> None:
    job = job_at(Stage.HERE)

    assert answer_to_get(signed_in(ilse), address(job.pk)) == (405, True)


def test_assign_withstands_odd_values(ilse: Person, wen: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.HERE)
    before = row_counts()["Person"]

    found = troubles_with_bad_values(
        signed_in(ilse),
        address(job.pk),
        good=lambda: {"person": wen.pk} | key(),
        fields=["person", "take_off"],
        hidden=["person", "take_off"],
    )

    assert (found, row_counts()["Person"]) == ([], before)
