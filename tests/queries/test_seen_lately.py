"""What was done lately on a boat or its engines; an open visit is never "lately"."""

from datetime import UTC, date, datetime, timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from shopapp.models import Person, Shop, Vessel
from shopapp.queries.seen_lately import LatelyJob, months_after, seen_lately
from tests.factories import EngineFactory, JobFactory, VesselFactory, WorkOrderFactory
from tests.factories.invoices import Offered, approve

pytestmark = pytest.mark.django_db


def lately(vessel: Vessel, shop: Shop, at: datetime) -> tuple[LatelyJob, ...]:
    engines = list(vessel.mountings.filter(until_date=None).values_list("engine", flat=True))
    return seen_lately(vessel=vessel.pk, engines=engines, shop=shop, at=at)


@pytest.mark.parametrize(
    ("day", "months", "after"),
    [
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2027, 1, 31), 13, date(2028, 2, 29)),
        (date(2026, 12, 5), 1, date(2027, 1, 5)),
        (date(2026, 3, 31), -1, date(2026, 2, 28)),
        (date(2026, 1, 5), -12, date(2025, 1, 5)),
        (date(2026, 6, 2), 0, date(2026, 6, 2)),
    ],
)
def test_months_end_on_a_day_there_is(day: date, months: int, after: date) -> None:
    assert months_after(day, months) == after


def test_lately_says_what_by_whom_and_what_warranty_is_left(
    shop: Shop, tobiah: Person, wen: Person, now: datetime
) -> None:
    vessel = VesselFactory()
    order = WorkOrderFactory(
        vessel=vessel, number="W-00077", stage="gone", gone_at=datetime(2026, 5, 22, 20, tzinfo=UTC)
    )
    job = JobFactory(
        work_order=order,
        technician=tobiah,
        outcome="done",
        correction="New seals",
        engine=EngineFactory(vessel=vessel),
    )
    job.assignments.create(person=wen)
    approve(job, Offered(title="Seals", warranty_months=3, warranty_covers="seals and labour"))

    (one,) = lately(vessel, shop, now)

    assert (one.number, one.gone_shown, one.what, one.who, one.outcome, one.engine) == (
        "W-00077",
        "22 May 2026",
        "New seals",
        "Tobiah Reyes, Wen Okafor",
        "done",
        "Petrel Marine P60",
    )
    assert one.warranty == "warranty until 22 Aug 2026 (2 months left): seals and labour"


@pytest.mark.parametrize(
    ("gone_at", "months", "outcome", "warranty"),
    [
        (datetime(2026, 3, 2, 20, tzinfo=UTC), 3, "done", "warranty until 2 Jun 2026 (ends soon): Seals"),
        (datetime(2026, 3, 1, 20, tzinfo=UTC), 3, "done", ""),
        (datetime(2026, 5, 1, 20, tzinfo=UTC), 0, "done", ""),
        (datetime(2026, 5, 1, 20, tzinfo=UTC), 3, "declined", ""),
    ],
)
def test_warranty_that_ran_out_or_never_was_is_not_told(
    shop: Shop, now: datetime, gone_at: datetime, months: int, outcome: str, warranty: str
) -> None:
    order = WorkOrderFactory(stage="gone", gone_at=gone_at)
    job = JobFactory(work_order=order, outcome=outcome)
    approve(job, Offered(title="Seals", warranty_months=months, warranty_covers=""))

    (one,) = lately(order.vessel, shop, now)

    assert one.warranty == warranty


def test_engine_is_recognised_on_another_boat(shop: Shop, now: datetime) -> None:
    old = WorkOrderFactory(stage="gone", gone_at=now)
    engine = EngineFactory(vessel=old.vessel)
    JobFactory(work_order=old, engine=engine)
    engine.mountings.update(until_date=date(2026, 6, 2))
    new = VesselFactory()
    engine.mountings.create(vessel=new, from_date=date(2026, 6, 2))

    assert [one.number for one in lately(new, shop, now)] == [old.number]


@pytest.mark.parametrize(
    "change",
    [
        {"stage": "in_line", "gone_at": None, "is_boat_here": False},
        {"stage": "cancelled"},
        {"gone_at": datetime(2025, 6, 1, 12, tzinfo=UTC)},
    ],
)
def test_home_cancelled_and_long_ago_are_not_lately(
    shop: Shop, now: datetime, change: dict[str, object]
) -> None:
    order = WorkOrderFactory(**{"stage": "gone", "gone_at": now - timedelta(days=9)} | change)
    JobFactory(work_order=order, engine=None)

    assert lately(order.vessel, shop, now) == ()


def test_other_boats_are_not_told_of(shop: Shop, now: datetime) -> None:
    JobFactory(work_order=WorkOrderFactory(stage="gone", gone_at=now))

    assert lately(VesselFactory(), shop, now) == ()


@pytest.mark.parametrize("size", [1, 40])
def test_lately_takes_three_queries(
    shop: Shop, tobiah: Person, now: datetime, django_assert_num_queries: DjangoAssertNumQueries, size: int
) -> None:
    vessel = VesselFactory()
    for _ in range(size):
        order = WorkOrderFactory(vessel=vessel, stage="gone", gone_at=now)
        JobFactory(work_order=order, technician=tobiah, engine=None)

    with django_assert_num_queries(3):
        found = seen_lately(vessel=vessel.pk, engines=[], shop=shop, at=now)

    assert len(found) == min(size, 12)
