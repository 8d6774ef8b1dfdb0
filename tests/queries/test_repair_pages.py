"""Pages of the shop's own record: what became of each repair in words, and each count opened to its jobs."""

from datetime import date, timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from shopapp.models import HourReading, Person, Shop, Stage, Way
from shopapp.queries.repair_pages import RecordPage, record_index, record_key, record_page, wanted_by
from shopapp.queries.repair_records import Wanted
from tests.factories.repairs import STAY, Boat, boat, came, noon, repaired, visit

pytestmark = pytest.mark.django_db

TODAY = date(2026, 6, 2)
P60 = Wanted(way=Way.MEND, family="petrelmarine-p60")
ALL_MENDED = Wanted(way=Way.MEND, family="")
HOME = date(2024, 5, 10)


def page(
    viewer: Person, shop: Shop, *, wanted: Wanted = P60, fate: str = "", number: int = 1
) -> RecordPage | None:
    return record_page(wanted, fate=fate, number=number, viewer=viewer, shop=shop, at=noon(TODAY))


def one_of_each() -> None:
    """On five boats: came back after 43 days, held, still running, sold, and not judged."""
    boats = [boat() for _ in range(5)]
    jobs = [repaired(one, on=HOME, correction=f"Repair {place}") for place, one in enumerate(boats)]
    came(boats[0], on=HOME + timedelta(days=43), cause=jobs[0])
    visit(boats[1], gone=date(2025, 8, 1))
    boats[3].vessel.ownerships.update(until_date=HOME + timedelta(days=100))
    came(boats[4], on=HOME + timedelta(days=12), cause=jobs[4], is_same=None)


def test_each_repair_says_what_became_of_it(maren: Person, shop: Shop) -> None:
    one_of_each()

    found = page(maren, shop)

    assert found is not None
    assert {row.what: row.became for row in found.rows} == {
        "Repair 0": "came back after 1 month",
        "Repair 1": "held when last here, 27 Jul 2025",
        "Repair 2": "not seen for 24 months",
        "Repair 3": "boat sold or engine moved after 3 months",
        "Repair 4": "in again after 12 days, the cause is not judged yet",
    }
    assert (found.says, found.total, found.family) == ("1 of 3 here since 2024", 5, "Petrel Marine P60")
    assert [row.is_told for row in found.rows] == [False, False, True, True, True]


@pytest.mark.parametrize(
    ("fate", "what"),
    [
        ("came_back", ["Repair 0"]),
        ("held", ["Repair 1"]),
        ("still_running", ["Repair 2"]),
        ("unknown", ["Repair 4", "Repair 3"]),
        ("nonsense", [f"Repair {place}" for place in (4, 3, 2, 1, 0)]),
    ],
)
def test_each_count_opens_to_its_jobs(maren: Person, shop: Shop, fate: str, what: list[str]) -> None:
    one_of_each()

    found = page(maren, shop, fate=fate)

    assert found is not None
    assert [row.what for row in found.rows] == what
    assert {one.fate: one.count for one in found.counts} == {
        "came_back": 1,
        "held": 1,
        "still_running": 1,
        "unknown": 2,
    }


def test_later_job_is_the_owners_to_read(maren: Person, ilse: Person, shop: Shop) -> None:
    one_of_each()

    owners, desks = page(maren, shop), page(ilse, shop)

    assert owners is not None
    assert desks is not None
    assert [row.later.may_judge for row in owners.rows if row.later is not None] == [True, False]
    assert [row.later for row in desks.rows] == [None] * 5
    assert [row.became for row in desks.rows] == [row.became for row in owners.rows]


def test_called_off_visit_is_not_to_be_judged(maren: Person, shop: Shop) -> None:
    mine = boat()
    first = repaired(mine, on=HOME)
    came(mine, on=HOME + timedelta(days=35), cause=first, is_same=None, stage=Stage.CANCELLED)

    found = page(maren, shop)

    assert found is not None
    (row,) = found.rows
    assert row.became == "due again after 1 month, but called off"
    assert row.later is not None
    assert not row.later.may_judge


def read(mine: Boat, *readings: tuple[date, int]) -> None:
    for day, tenths in readings:
        HourReading.objects.create(engine=mine.engine, tenths=tenths, source="meter", read_at=noon(day))


@pytest.mark.parametrize(
    ("readings", "became"),
    [
        ([(HOME, 5_000), (HOME + timedelta(days=95), 5_425)], "came back after 3 months and 42.5 h"),
        ([(HOME, 5_000), (HOME + timedelta(days=50), 5_200)], "came back after 3 months"),
        (
            [(HOME - timedelta(days=30), 5_000), (HOME + timedelta(days=95), 5_425)],
            "came back after 3 months",
        ),
        # a new meter
        ([(HOME, 5_000), (HOME + timedelta(days=95), 12)], "came back after 3 months"),
        ([], "came back after 3 months"),
    ],
)
def test_hours_are_told_where_both_visits_have_them(
    maren: Person, shop: Shop, readings: list[tuple[date, int]], became: str
) -> None:
    mine = boat()
    came(mine, on=HOME + timedelta(days=94), cause=repaired(mine, on=HOME))
    read(mine, *readings)

    found = page(maren, shop)

    assert found is not None
    assert [row.became for row in found.rows] == [became]


def test_all_engines_stand_behind_each_family(maren: Person, shop: Shop) -> None:
    repaired(boat(), on=HOME)
    repaired(boat(make="Sorrel", model="S90"), on=HOME)

    own, everybody = page(maren, shop), page(maren, shop, wanted=ALL_MENDED)

    assert own is not None
    assert everybody is not None
    assert (own.total, own.others, own.others_says) == (1, "mend", "0 of 2 here since 2024")
    assert (everybody.total, everybody.family, everybody.others) == (2, "", "")


def test_record_without_a_repair_is_no_page(maren: Person, shop: Shop) -> None:
    repaired(boat(make="Sorrel", model="S90"), on=HOME)

    assert page(maren, shop) is None


@pytest.mark.parametrize("wanted", [P60, ALL_MENDED, Wanted(way="used", family="sörrel-9ß")])
def test_key_in_an_address_names_one_record(wanted: Wanted) -> None:
    assert wanted_by(record_key(wanted)) == wanted


@pytest.mark.parametrize("key", ["", "-", "glue-petrelmarine-p60", "MEND", "petrelmarine-p60"])
def test_other_keys_name_none(key: str) -> None:
    assert wanted_by(key) is None


def test_index_tells_all_engines_then_family_by_family(shop: Shop) -> None:
    for model in ("P60", "P60", "P90", ""):
        repaired(boat(model=model), on=HOME)
    repaired(boat(), on=date(2026, 5, 1), way=Way.NEW)

    found = record_index(shop=shop, at=noon(TODAY))

    lines = [(one.family, line.way, line.key, line.says) for one in found for line in one.lines]
    assert lines == [
        ("All engines", "Mend the part", "mend", "0 of 4 here since 2024"),
        ("All engines", "New part", "new", ""),
        ("Petrel Marine P60", "Mend the part", "mend-petrelmarine-p60", "0 of 2 here since 2024"),
        ("Petrel Marine P60", "New part", "new-petrelmarine-p60", ""),
        ("Petrel Marine P90", "Mend the part", "mend-petrelmarine-p90", "0 of 1 here since 2024"),
    ]


def test_index_of_a_young_shop_is_empty(shop: Shop) -> None:
    assert record_index(shop=shop, at=noon(TODAY)) == ()


@pytest.mark.parametrize("size", [1, 9])
def test_pages_take_four_queries_and_two(
    maren: Person, shop: Shop, django_assert_num_queries: DjangoAssertNumQueries, size: int
) -> None:
    for _ in range(size):
        mine = boat()
        came(mine, on=HOME + STAY, cause=repaired(mine, on=HOME))
        read(mine, (HOME, 100), (HOME + STAY, 120))

    with django_assert_num_queries(4):
        found = page(maren, shop)
    with django_assert_num_queries(2):
        index = record_index(shop=shop, at=noon(TODAY))

    assert found is not None
    assert (len(found.rows), index[0].lines[0].came_back) == (size, size)
