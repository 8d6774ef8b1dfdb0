"""What counts as a repair, and what became of each: the edges that a record may not get wrong."""

from datetime import date, timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from shopapp.calc.record import Fate
from shopapp.models import Job, Outcome, Shop, Stage, Way
from shopapp.queries.repairs import Repair, repairs
from tests.factories import EngineFactory, WorkOrderFactory
from tests.factories.repairs import STAY, Boat, agree, boat, came, noon, repaired, visit

pytestmark = pytest.mark.django_db

TODAY = date(2026, 6, 2)
YEARS_AGO = date(2024, 5, 10)


def found(shop: Shop, *, way: str = Way.MEND, on: date = TODAY) -> list[Repair]:
    return list(repairs([way], shop=shop, at=noon(on)))


def fates(shop: Shop, *, on: date = TODAY) -> list[tuple[str, float]]:
    """What became of each repair, oldest last, and the days that are known of it."""
    return [(one.fate, (one.known_until - one.handed_over).days) for one in found(shop, on=on)]


def test_repair_that_nobody_saw_since_is_still_running_until_today(shop: Shop) -> None:
    job = repaired(boat(), on=YEARS_AGO)

    assert found(shop) == [
        Repair(
            job=job.pk,
            way="mend",
            family="petrelmarine-p60",
            engine="Petrel Marine P60",
            handed_over=YEARS_AGO,
            fate=Fate.STILL_RUNNING,
            known_until=TODAY,
            seen=None,
            comeback=None,
        )
    ]


@pytest.mark.parametrize(
    "change",
    [
        {"outcome": Outcome.DECLINED},
        {"outcome": Outcome.DECLINED_IN_BOXES},
        {"outcome": Outcome.NO_FAULT},
        {"outcome": Outcome.LATER},
        {"stage": Stage.CANCELLED},
        {"engine": None},
    ],
    ids=str,
)
def test_what_was_not_done_on_an_engine_is_no_repair(shop: Shop, change: dict[str, object]) -> None:
    repaired(boat(), on=YEARS_AGO, **change)

    assert found(shop) == []


@pytest.mark.parametrize(
    "change",
    [{"stage": Stage.READY, "gone_at": None}, {"stage": Stage.CANCELLED}, {"gone_at": noon(TODAY) + STAY}],
    ids=str,
)
def test_what_is_not_handed_over_is_no_repair_yet(shop: Shop, change: dict[str, object]) -> None:
    job = repaired(boat(), on=YEARS_AGO)
    type(job.work_order).objects.update(**change)

    assert found(shop) == []


def test_way_is_that_of_the_answer_in_force(shop: Shop) -> None:
    job = repaired(boat(), on=YEARS_AGO, way=Way.NEW)
    agree(job, way=Way.MEND, at=noon(YEARS_AGO) - timedelta(days=1))
    agree(job, way=Way.EXCHANGE, at=noon(YEARS_AGO), is_supplement=True)
    agree(repaired(boat(), on=YEARS_AGO), way=None, at=noon(YEARS_AGO))

    assert [one.job for one in found(shop)] == [job.pk]
    assert [found(shop, way=way) for way in (Way.NEW, Way.EXCHANGE)] == [[], []]


@pytest.mark.parametrize("way", [Way.LEAVE, Way.REPLACE])
def test_what_was_left_or_replaced_was_not_repaired(shop: Shop, way: str) -> None:
    repaired(boat(), on=YEARS_AGO, way=way)

    assert found(shop, way=way) == []


def test_boat_seen_since_without_a_comeback_held(shop: Shop) -> None:
    mine = boat()
    repaired(mine, on=YEARS_AGO)
    visit(mine, gone=date(2025, 8, 1))

    assert fates(shop) == [(Fate.HELD, (TODAY - YEARS_AGO).days)]


@pytest.mark.parametrize("change", [{"stage": Stage.BOOKED}, {"stage": Stage.CANCELLED}], ids=str)
def test_visit_that_did_not_happen_saw_nothing(shop: Shop, change: dict[str, object]) -> None:
    mine = boat()
    repaired(mine, on=YEARS_AGO)
    visit(mine, gone=date(2025, 8, 1), **change)

    assert [fate for fate, _days in fates(shop)] == [Fate.STILL_RUNNING]


def test_redo_ends_the_repair_on_the_day_it_came(shop: Shop) -> None:
    mine = boat()
    first = repaired(mine, on=YEARS_AGO)
    redo = came(mine, on=YEARS_AGO + timedelta(days=100), cause=first)

    (one,) = found(shop)
    assert (one.fate, one.comeback, round(one.months, 3)) == (Fate.CAME_BACK, redo.pk, 3.285)


def test_redo_of_a_redo_ends_each_by_its_own(shop: Shop) -> None:
    mine = boat()
    first = repaired(mine, on=YEARS_AGO)
    second = came(mine, on=YEARS_AGO + timedelta(days=40), cause=first)
    agree(second, way=Way.MEND, at=noon(YEARS_AGO) + timedelta(days=40))
    came(mine, on=YEARS_AGO + timedelta(days=100), cause=second)

    # the first came back after 40 days; the second went home five days later
    assert fates(shop) == [(Fate.CAME_BACK, 55), (Fate.CAME_BACK, 40)]


def test_first_comeback_of_two_counts(shop: Shop) -> None:
    mine = boat()
    first = repaired(mine, on=YEARS_AGO)
    came(mine, on=YEARS_AGO + timedelta(days=90), cause=first)
    earliest = came(mine, on=YEARS_AGO + timedelta(days=30), cause=first)

    assert (fates(shop), found(shop)[0].comeback) == ([(Fate.CAME_BACK, 30)], earliest.pk)


def test_comeback_for_another_cause_leaves_the_repair_whole(shop: Shop) -> None:
    mine = boat()
    came(mine, on=YEARS_AGO + timedelta(days=30), cause=repaired(mine, on=YEARS_AGO), is_same=False)

    assert fates(shop) == [(Fate.HELD, (TODAY - YEARS_AGO).days)]


def test_comeback_on_the_other_engine_leaves_the_repair_whole(shop: Shop) -> None:
    mine = boat()
    starboard = EngineFactory.create(vessel=mine.vessel)
    came(mine, on=YEARS_AGO + timedelta(days=30), cause=repaired(mine, on=YEARS_AGO), engine=starboard)

    assert fates(shop) == [(Fate.HELD, (TODAY - YEARS_AGO).days)]


def test_comeback_that_was_no_fault_leaves_the_repair_whole(shop: Shop) -> None:
    mine = boat()
    first = repaired(mine, on=YEARS_AGO)
    came(mine, on=YEARS_AGO + timedelta(days=30), cause=first, outcome=Outcome.NO_FAULT)

    assert fates(shop) == [(Fate.HELD, (TODAY - YEARS_AGO).days)]


@pytest.mark.parametrize("outcome", [Outcome.OPEN, Outcome.DECLINED, Outcome.LATER])
def test_redo_that_was_not_done_is_a_comeback_nonetheless(shop: Shop, outcome: str) -> None:
    mine = boat()
    first = repaired(mine, on=YEARS_AGO)
    came(mine, on=YEARS_AGO + timedelta(days=30), cause=first, outcome=outcome)

    assert fates(shop) == [(Fate.CAME_BACK, 30)]


@pytest.mark.parametrize(
    "change", [{"is_same": None}, {"stage": Stage.CANCELLED}], ids=["not judged", "called off"]
)
def test_comeback_that_nobody_judged_leaves_it_unknown(shop: Shop, change: dict[str, object]) -> None:
    mine = boat()
    first = repaired(mine, on=YEARS_AGO)
    later = came(mine, on=YEARS_AGO + timedelta(days=30), cause=first, **change)

    assert (fates(shop), found(shop)[0].comeback) == ([(Fate.UNKNOWN, 30)], later.pk)


def test_comeback_that_is_booked_has_not_come(shop: Shop) -> None:
    mine = boat()
    later = came(mine, on=YEARS_AGO + timedelta(days=30), cause=repaired(mine, on=YEARS_AGO))
    type(later.work_order).objects.filter(pk=later.work_order_id).update(stage=Stage.BOOKED, gone_at=None)

    assert [fate for fate, _days in fates(shop)] == [Fate.STILL_RUNNING]


def sold(mine: Boat, *, on: date) -> None:
    mine.vessel.ownerships.update(until_date=on)
    mine.vessel.ownerships.create(vessel=mine.vessel, customer=boat().owner, from_date=on)


def moved(mine: Boat, *, on: date, to: Boat) -> None:
    mine.engine.mountings.update(until_date=on)
    mine.engine.mountings.create(vessel=to.vessel, from_date=on)


def test_boat_that_was_sold_is_unknown_from_that_day(shop: Shop) -> None:
    mine = boat()
    repaired(mine, on=YEARS_AGO)
    sold(mine, on=YEARS_AGO + timedelta(days=60))

    assert fates(shop) == [(Fate.UNKNOWN, 60)]


def test_boat_sold_and_seen_again_held_as_long_as_it_was_seen(shop: Shop) -> None:
    mine = boat()
    repaired(mine, on=YEARS_AGO)
    sold(mine, on=YEARS_AGO + timedelta(days=60))
    visit(mine, gone=YEARS_AGO + timedelta(days=300) + STAY)

    assert fates(shop) == [(Fate.HELD, 300)]


def test_comeback_of_a_sold_boat_is_a_comeback(shop: Shop) -> None:
    mine = boat()
    first = repaired(mine, on=YEARS_AGO)
    sold(mine, on=YEARS_AGO + timedelta(days=60))
    came(mine, on=YEARS_AGO + timedelta(days=90), cause=first)

    assert fates(shop) == [(Fate.CAME_BACK, 90)]


def test_engine_that_moved_to_a_stranger_is_unknown_and_its_old_boat_says_nothing(shop: Shop) -> None:
    mine, other = boat(), boat()
    repaired(mine, on=YEARS_AGO)
    moved(mine, on=YEARS_AGO + timedelta(days=60), to=other)
    visit(mine, gone=YEARS_AGO + timedelta(days=300))

    assert fates(shop) == [(Fate.UNKNOWN, 60)]


def test_engine_that_moved_and_came_here_again_held(shop: Shop) -> None:
    mine, other = boat(), boat()
    repaired(mine, on=YEARS_AGO)
    moved(mine, on=YEARS_AGO + timedelta(days=60), to=other)
    order = visit(other, gone=YEARS_AGO + timedelta(days=200) + STAY)
    Job.objects.create(work_order=order, engine=mine.engine, complaint="Service", stage=Stage.GONE)

    assert fates(shop) == [(Fate.HELD, 200)]


def test_engine_on_another_boat_of_the_same_owner_stays_in_sight(shop: Shop) -> None:
    mine, other = boat(), boat()
    other.vessel.ownerships.update(customer=mine.owner)
    repaired(mine, on=YEARS_AGO)
    moved(mine, on=YEARS_AGO + timedelta(days=60), to=other)

    assert fates(shop) == [(Fate.STILL_RUNNING, (TODAY - YEARS_AGO).days)]


def test_boat_sold_while_it_was_here_is_known_for_no_day(shop: Shop) -> None:
    mine = boat()
    repaired(mine, on=YEARS_AGO)
    sold(mine, on=YEARS_AGO - timedelta(days=2))

    assert fates(shop) == [(Fate.UNKNOWN, 0)]


@pytest.mark.parametrize(
    ("today", "is_told"),
    [(date(2025, 5, 9), False), (date(2025, 5, 10), True), (date(2025, 5, 11), True)],
)
def test_it_is_told_of_from_twelve_months_on(shop: Shop, today: date, is_told: bool) -> None:
    repaired(boat(), on=YEARS_AGO)

    assert [one.is_told for one in found(shop, on=today)] == [is_told]


def test_twelve_months_from_a_leap_day_end_on_the_last_of_february(shop: Shop) -> None:
    repaired(boat(), on=date(2024, 2, 29))

    days = (date(2025, 2, 27), date(2025, 2, 28))
    assert [found(shop, on=day)[0].is_told for day in days] == [False, True]


def test_redo_is_told_of_whenever_it_came(shop: Shop) -> None:
    mine = boat()
    came(mine, on=TODAY - timedelta(days=7), cause=repaired(mine, on=TODAY - timedelta(days=30)))

    assert [one.is_told for one in found(shop)] == [True]


def test_day_of_hand_over_is_the_shops_own(shop: Shop) -> None:
    job = repaired(boat(), on=YEARS_AGO)
    # ten in the evening in the shop is the next day in UTC
    late = noon(YEARS_AGO) + timedelta(hours=10)
    type(job.work_order).objects.update(gone_at=late)

    assert [one.handed_over for one in found(shop)] == [YEARS_AGO]


@pytest.mark.parametrize("size", [1, 12])
def test_repairs_take_two_queries(
    shop: Shop, django_assert_num_queries: DjangoAssertNumQueries, size: int
) -> None:
    for _ in range(size):
        mine = boat()
        came(mine, on=date(2024, 9, 1), cause=repaired(mine, on=YEARS_AGO))
    WorkOrderFactory()

    with django_assert_num_queries(2):
        counted = repairs(list(Way), shop=shop, at=noon(TODAY))

    assert len(counted) == size
