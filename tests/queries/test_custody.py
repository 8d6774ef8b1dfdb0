"""What is here, what is out, and the spans in which the boat really was in the shop."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.actions.custody import CustodyInput, record_custody
from shopapp.models import Person, Stage, WorkOrder
from shopapp.queries.custody import boat_spans, custody_page, open_visits
from tests.factories import WorkOrderFactory

pytestmark = pytest.mark.django_db
By = Callable[[Person], Actor]

OPENED = datetime(2026, 6, 1, 15, 0, tzinfo=UTC)


def moved(order: WorkOrder, person: Person, by: By, *moves: str) -> None:
    """The boat goes its ways, one a day from the test's moment on."""
    for day, move in enumerate(moves):
        data = CustodyInput(thing="boat", move=move, who="Anna Berg", place=f"place {day}")
        actor = by(person)
        record_custody(order.pk, data, by=replace(actor, at=actor.at + timedelta(days=day)))


def test_page_shows_what_is_here_and_the_log(ilse: Person, by: By, now: datetime) -> None:
    order = WorkOrderFactory(stage=Stage.IN_LINE)
    moved(order, ilse, by, "out", "in")
    record_custody(order.pk, CustodyInput(thing="keys", move="in", who="Bo", note="two"), by=by(ilse))
    order.refresh_from_db()

    page = custody_page(order)

    assert [(one.word, one.is_here, one.place, one.since) for one in page.held] == [
        ("Boat", True, "place 1", now + timedelta(days=1)),
        ("Keys", True, "", now),
    ]
    assert [(row.word, row.move, row.who, row.place, row.note, row.recorded_by) for row in page.log] == [
        ("Keys", "came in", "Bo", "", "two", "Ilse Brandt"),
        ("Boat", "came in", "Anna Berg", "place 1", "", "Ilse Brandt"),
        ("Boat", "went out", "Anna Berg", "place 0", "", "Ilse Brandt"),
    ]
    assert (page.is_open, page.is_boat_here) == (True, True)


@pytest.mark.parametrize(
    ("moves", "spans"),
    [
        (["out"], []),
        (["out", "in"], [(1, None)]),
        (["out", "in", "moved", "out"], [(1, 3)]),
        (["out", "in", "out", "in"], [(1, 2), (3, None)]),
    ],
)
def test_days_at_home_are_in_no_span(
    ilse: Person, by: By, now: datetime, moves: list[str], spans: list[tuple[int, int | None]]
) -> None:
    order = WorkOrderFactory(stage=Stage.IN_LINE)
    moved(order, ilse, by, *moves)

    def moment(day: int | None) -> datetime | None:
        return None if day is None else now + timedelta(days=day)

    assert boat_spans(order) == tuple((moment(start), moment(end)) for start, end in spans)


def test_visit_without_entries_lasted_until_it_was_gone(now: datetime) -> None:
    here = WorkOrderFactory(opened_at=OPENED)
    gone = WorkOrderFactory(opened_at=OPENED, stage=Stage.GONE, gone_at=now)
    booked = WorkOrderFactory(stage=Stage.BOOKED, is_boat_here=False)

    assert [boat_spans(one) for one in (here, gone, booked)] == [((OPENED, None),), ((OPENED, now),), ()]


def test_open_visits_say_where_the_boat_is(ilse: Person, by: By, now: datetime) -> None:
    home = WorkOrderFactory(stage=Stage.IN_LINE, opened_at=OPENED)
    here = WorkOrderFactory(vessel=home.vessel, stage=Stage.TEST, opened_at=now, place="dock")
    WorkOrderFactory(vessel=home.vessel, stage=Stage.GONE, gone_at=now, is_boat_here=False)
    WorkOrderFactory(stage=Stage.IN_LINE)
    moved(home, ilse, by, "out", "in", "out")

    visits = open_visits(home.vessel_id)

    assert [(one.pk, one.is_boat_here, one.place, one.left_at) for one in visits] == [
        (here.pk, True, "dock", None),
        (home.pk, False, "place 2", now + timedelta(days=2)),
    ]


@pytest.mark.parametrize("size", [1, 100])
def test_page_takes_one_query(
    ilse: Person, by: By, django_assert_num_queries: DjangoAssertNumQueries, size: int
) -> None:
    moved(WorkOrderFactory(stage=Stage.IN_LINE), ilse, by, *["out", "in"] * size)
    order = WorkOrder.objects.select_related("vessel", "customer").get()

    with django_assert_num_queries(1):
        page = custody_page(order)

    assert len(page.log) == 2 * size
