"""Fees and bought-in work on a page of their own beside the bench."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from shopapp.models import FeeEntry, Job, Person, Shop, Stage, WorkOrder
from tests.factories.jobs import agreed_job, job_at
from tests.models.rows import change
from tests.web.shared.hostile import NASTY_NAMES
from tests.web.work_orders.posts import answer_to_get, looks_missing

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
SHAFT = {"supplier": "Inlet Machine", "description": "Straighten the shaft", "due_back_date": "2026-06-09"}
LIFT = {"description": "Lift", "kind": "lift", "quantity": "1", "unit": "each"}


@pytest.fixture
def job(tobiah: Person) -> Job:
    return agreed_job(Stage.IN_HAND, technician=tobiah)


def address(job: Job, deed: str = "charges") -> str:
    return f"/work-orders/job/{job.pk}/{deed}/"


@pytest.mark.parametrize(("days", "free", "offered"), [(6, 0, "5"), (6, 3, "2"), (1, 0, "1"), (4, 5, "1")])
def test_storage_is_offered_by_the_day(
    *, ilse: Person, shop: Shop, signed_in: SignedIn, days: int, free: int, offered: str
) -> None:
    """Told six days ago: five whole days lie between that day and today."""
    change(shop, storage_free_days=free)
    job = job_at(Stage.READY)
    WorkOrder.objects.filter(pk=job.work_order_id).update(told_at=timezone.now() - timedelta(days=days))

    content = signed_in(ilse).get(address(job)).content.decode()

    assert f'name="quantity" value="{offered}"' in content
    assert ("storage have come up" in content or "storage has come up" in content) == (days - 1 > free)


@pytest.mark.parametrize("stage", [Stage.BOOKED, Stage.GONE])
def test_nothing_is_charged_when_the_boat_is_not_here(
    ilse: Person, signed_in: SignedIn, stage: Stage
) -> None:
    gone = {"gone_at": timezone.now()} if stage == Stage.GONE else {}
    job = job_at(Stage.HERE)
    change(job.work_order, stage=stage, **gone)
    change(job, stage=stage)

    content = signed_in(ilse).get(address(job)).content.decode()

    assert (
        "Fees and bought-in work are logged while the boat is here." in content,
        "log-fee" in content,
    ) == (
        True,
        False,
    )


def test_charges_of_another_look_missing_t01(job: Job, wen: Person, signed_in: SignedIn, key: Key) -> None:
    for deed in ("log-fee", "log-sublet"):
        found = looks_missing(signed_in(wen), address(job, deed), pk=job.pk, data=key())
        assert found == (404, True, True)


def test_charges_are_never_links(job: Job, tobiah: Person, signed_in: SignedIn) -> None:
    client = signed_in(tobiah)

    assert answer_to_get(client, address(job)) == (200, True)
    assert [answer_to_get(client, address(job, deed)) for deed in ("log-fee", "log-sublet")] == [
        (405, True)
    ] * 2


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_names_are_inert_t13(job: Job, tobiah: Person, signed_in: SignedIn, key: Key, name: str) -> None:
    client = signed_in(tobiah)
    client.post(address(job, "log-sublet"), SHAFT | {"supplier": name} | key())

    assert "<script>alert" not in client.get(address(job)).content.decode()


@pytest.mark.parametrize("count", [1, 60])
def test_charges_page_takes_the_same_queries(
    job: Job,
    tobiah: Person,
    signed_in: SignedIn,
    django_assert_num_queries: DjangoAssertNumQueries,
    count: int,
) -> None:
    FeeEntry.objects.bulk_create(
        FeeEntry(
            job=job,
            kind="other",
            description=f"Fee {place}",
            quantity_milli=1_000,
            logged_by=tobiah,
            happened_at=timezone.now(),
            recorded_at=timezone.now(),
        )
        for place in range(count)
    )
    client = signed_in(tobiah)

    with django_assert_num_queries(9):
        client.get(address(job))
