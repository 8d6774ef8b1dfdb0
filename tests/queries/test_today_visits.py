"""Open visits in the sections of Today: each in its own light, and none lost from every list."""

from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pytest_django import DjangoAssertNumQueries

from shopapp.calc.errors import BadInput
from shopapp.models import (
    CLOSED_STAGES,
    CustodyEntry,
    Hold,
    JobAssignment,
    Person,
    PlacedHold,
    Stage,
    WorkOrder,
)
from shopapp.queries.today_visits import ROWS_SHOWN, Visits, WantedVisits, open_visits
from tests.conftest import NOW
from tests.factories import JobFactory, PersonFactory, VesselFactory, WorkOrderFactory
from tests.factories.quotes import sent_quote

pytestmark = pytest.mark.django_db
ZONE = ZoneInfo("America/Vancouver")
TODAY = date(2026, 6, 2)
EARLIER = NOW - timedelta(days=9)


def visits(**wanted: str) -> Visits:
    return open_visits(WantedVisits(**wanted), now=NOW, zone=ZONE)


def numbers(shown: Visits) -> dict[str, list[str]]:
    """Code of a section → the numbers in it."""
    return {section.code: [row.number for row in section.rows] for section in shown.sections}


def order(number: str, **fields: object) -> WorkOrder:
    return WorkOrderFactory(**{"number": number, "opened_at": EARLIER, "stage": "in_line"} | fields)


def hold(visit: WorkOrder, chaser: Person, **fields: object) -> PlacedHold:
    given = {"kind": "parts", "chase_date": TODAY, "placed_at": EARLIER, "placed_by": chaser}
    return PlacedHold.objects.create(work_order=visit, chaser=chaser, **given | fields)


def test_promised_boats_are_late_due_today_or_tomorrow(shop: object) -> None:
    for days, number in ((-3, "late"), (0, "today"), (1, "tomorrow"), (2, "later")):
        order(number, promised_date=TODAY + timedelta(days=days))
    order("ready", stage="ready", promised_date=TODAY)

    shown = visits()

    assert numbers(shown) == {
        "due": ["late", "today", "tomorrow"],
        "ready": ["ready"],
        "rest": ["later"],
    }
    assert [(row.promised_word, row.is_late) for row in shown.sections[0].rows] == [
        ("late", True),
        ("today", False),
        ("tomorrow", False),
    ]


def test_waiting_boats_say_for_what_and_whom_to_chase_first(ilse: Person, tobiah: Person) -> None:
    hold(order("in three days"), ilse, chase_date=TODAY + timedelta(days=3))
    both = order("overdue")
    hold(both, ilse, chase_date=TODAY + timedelta(days=5), kind="bay")
    hold(both, tobiah, chase_date=TODAY - timedelta(days=1), note="Asked twice", kind="maker")
    hold(order("no more"), ilse, released_at=NOW, released_by=ilse)

    shown = visits()

    assert numbers(shown) == {"waits": ["overdue", "in three days"], "rest": ["no more"]}
    assert [
        (one.chip.word, one.chip.code, one.note, one.chaser, one.is_due, one.since)
        for one in shown.sections[0].rows[0].holds
    ] == [
        ("Maker or insurer", "hold-maker", "Asked twice", "Tobiah Reyes", True, EARLIER),
        ("Bay", "hold-bay", "", "Ilse Brandt", False, EARLIER),
    ]


def test_quote_with_the_customer_waits_since_it_was_sent(ilse: Person) -> None:
    visit = JobFactory(work_order=order("asked", stage="diagnosis")).work_order
    sent_quote(ilse, at=NOW - timedelta(days=4), work_order=visit)

    (section,) = visits().sections

    assert (section.code, [row.asked_at for row in section.rows]) == ("waits", [NOW - timedelta(days=4)])


def test_ready_boats_show_first_whom_nobody_has_told(shop: object) -> None:
    order("told", stage="ready", told_at=NOW, told_how="phone")
    order("not told", stage="ready")

    shown = visits()

    assert numbers(shown) == {"ready": ["not told", "told"]}
    assert [row.told_how for row in shown.sections[0].rows] == ["", "by telephone"]


def test_day_begins_at_the_shops_own_midnight(shop: object) -> None:
    # midnight in Vancouver is seven o'clock in UTC
    midnight = NOW.replace(hour=7, minute=0)
    order("before", opened_at=midnight - timedelta(minutes=1))
    order("after", opened_at=midnight)
    order("expected", opened_at=midnight, stage="booked")

    assert numbers(visits()) == {"came": ["after"], "rest": ["expected", "before"]}


def test_boat_at_home_says_since_when_and_with_whom(ilse: Person) -> None:
    visit = order("home", is_boat_here=False)
    order("booked", stage="booked", is_boat_here=False)
    CustodyEntry.objects.create(
        work_order=visit,
        thing="boat",
        move="out",
        who="Anna Berg",
        happened_at=EARLIER,
        recorded_at=NOW,
        recorded_by=ilse,
    )

    shown = visits()

    assert numbers(shown) == {"home": ["home"], "rest": ["booked"]}
    (row,) = shown.sections[0].rows
    assert (row.home_since, row.home_with) == (EARLIER, "Anna Berg")


def test_visit_may_stand_in_several_sections(ilse: Person) -> None:
    visit = order("busy", opened_at=NOW, promised_date=TODAY, is_boat_here=False)
    hold(visit, ilse)

    assert numbers(visits()) == {code: ["busy"] for code in ("due", "waits", "came")}


def test_boat_at_home_stands_where_it_is_more_urgent(ilse: Person) -> None:
    for number, facts in {
        "due": {"promised_date": TODAY},
        "waits": {},
        "ready": {"stage": "ready"},
        "quiet": {},
    }.items():
        visit = order(number, is_boat_here=False, **facts)
        if number == "waits":
            hold(visit, ilse)

    assert numbers(visits()) == {code: [code] for code in ("due", "waits", "ready")} | {"home": ["quiet"]}


def test_closed_visits_are_in_no_section(shop: object) -> None:
    order("gone", stage="gone", gone_at=NOW, promised_date=TODAY)
    order("cancelled", stage="cancelled", promised_date=TODAY)

    assert (visits().sections, visits().count) == ((), 0)


def test_filters_show_what_fits_all_of_them(ilse: Person, tobiah: Person, wen: Person) -> None:
    held = JobFactory(work_order=order("held"), technician=tobiah).work_order
    hold(held, wen)
    JobFactory(work_order=order("tobiah's", stage="in_hand"), technician=tobiah)
    order("nobody's")

    shown = {
        word: sorted(number for some in numbers(visits(**wanted)).values() for number in some)
        for word, wanted in {
            "all": {},
            "in line": {"stage": "in_line"},
            "parts": {"hold": "parts"},
            "weather": {"hold": "weather"},
            "tobiah": {"person": str(tobiah.pk)},
            "wen chases": {"person": str(wen.pk)},
            "both": {"person": str(tobiah.pk), "stage": "in_hand"},
            "none": {"person": str(ilse.pk)},
        }.items()
    }

    assert shown == {
        "all": ["held", "nobody's", "tobiah's"],
        "in line": ["held", "nobody's"],
        "parts": ["held"],
        "weather": [],
        "tobiah": ["held", "tobiah's"],
        "wen chases": ["held"],
        "both": ["tobiah's"],
        "none": [],
    }


def test_filters_count_every_open_visit_whatever_is_shown(tobiah: Person, wen: Person) -> None:
    hold(JobFactory(work_order=order("a"), technician=tobiah).work_order, wen)
    order("b", stage="in_hand")

    shown = visits(stage="in_hand", hold="parts")

    assert [(one.word, one.count, one.is_current) for one in shown.stages] == [
        ("In line", 1, False),
        ("In hand", 1, True),
    ]
    assert [(one.word, one.count, one.is_current) for one in shown.holds] == [("Parts", 1, True)]
    assert [(one.word, one.count) for one in shown.people] == [("Tobiah Reyes", 1), ("Wen Okafor", 1)]
    assert (shown.count, shown.sections, shown.is_filtered) == (2, (), True)


@pytest.mark.parametrize("wanted", [{"stage": "lost"}, {"hold": "lost"}, {"person": "x"}, {"person": "٣"}])
def test_filter_there_is_not_is_told(shop: object, wanted: dict[str, str]) -> None:
    with pytest.raises(BadInput):
        visits(**wanted)


@pytest.mark.parametrize("size", [1, 100])
def test_visits_take_three_queries(
    ilse: Person, tobiah: Person, django_assert_num_queries: DjangoAssertNumQueries, size: int
) -> None:
    for number in range(size):
        visit = JobFactory(work_order=order(f"W-{number}"), technician=tobiah).work_order
        hold(visit, ilse)
        order(f"R-{number}", stage="ready")

    with django_assert_num_queries(3):
        shown = visits()

    assert [(section.code, section.count, len(section.rows)) for section in shown.sections] == [
        ("waits", size, min(size, ROWS_SHOWN)),
        ("ready", size, min(size, ROWS_SHOWN)),
    ]


states = st.tuples(
    st.sampled_from(Stage.values),
    st.sampled_from([None, -1, 0, 1, 30]),
    st.sampled_from([None, *Hold.values]),
    st.booleans(),
    st.booleans(),
)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(many=st.lists(states, max_size=8))
def test_no_open_visit_is_lost_from_every_section(ilse: Person, many: list[tuple]) -> None:
    JobAssignment.objects.all().delete()
    PlacedHold.objects.all().delete()
    WorkOrder.objects.all().delete()
    vessel, person = VesselFactory(), PersonFactory()
    for place, (stage, days, kind, is_here, is_new) in enumerate(many):
        visit = order(
            f"N-{place}",
            vessel=vessel,
            opened_by=person,
            stage=stage,
            promised_date=None if days is None else TODAY + timedelta(days=days),
            is_boat_here=is_here,
            gone_at=NOW if stage == Stage.GONE else None,
            opened_at=NOW if is_new else EARLIER,
        )
        if kind is not None:
            hold(visit, ilse, kind=kind)

    shown = {number for some in numbers(visits()).values() for number in some}

    assert shown == {f"N-{place}" for place, state in enumerate(many) if state[0] not in CLOSED_STAGES}
