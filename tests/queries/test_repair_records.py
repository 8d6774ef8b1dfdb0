"""The shop's own record: counted again by plain Python that shares no code, and what may be said of it."""

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pytest_django import DjangoAssertNumQueries

from shopapp.calc.life import Clock, Season
from shopapp.calc.record import Seen, believed_beside
from shopapp.models import Outcome, Shop, Stage, Way
from shopapp.queries.engines import family_key
from shopapp.queries.repair_records import (
    RepairRecord,
    Wanted,
    outcomes,
    repair_record,
    repair_records,
)
from tests.factories import EngineFactory, JobFactory
from tests.factories.repairs import STAY, Boat, agree, boat, came, noon, repaired, visit

pytestmark = pytest.mark.django_db

TODAY = date(2026, 6, 2)
P60 = Wanted(way=Way.MEND, family="petrelmarine-p60")
# the same family as four people type it, and two others
SPELLINGS = [
    ("Petrel Marine", "P60"),
    ("petrel marine", "p 60"),
    ("PETREL-MARINE", "P-60"),
    ("Petrel Marine", "P.60"),
]
OTHERS = [("Sorrel", "S90"), ("Norsk Tern", "25 L")]


def record(shop: Shop, wanted: Wanted = P60) -> RepairRecord:
    return repair_record(wanted, shop=shop, at=noon(TODAY))


@pytest.mark.parametrize(("make", "model"), SPELLINGS)
def test_family_is_found_however_it_was_typed(make: str, model: str) -> None:
    assert family_key(make=make, model=model) == "petrelmarine-p60"


@pytest.mark.parametrize(("make", "model"), [("", "P60"), ("Petrel Marine", ""), (" - ", "P60"), ("", "")])
def test_engine_nobody_knows_has_no_family(make: str, model: str) -> None:
    assert family_key(make=make, model=model) == ""


def test_families_are_told_apart() -> None:
    typed = [("Sorrel", "S90"), ("Sorrel S", "90"), ("Sorrel", "S9O"), ("Sörrel", "S90")]

    assert len({family_key(make=make, model=model) for make, model in typed}) == 4


def nine_of_which_two_came_back() -> None:
    """Since 2024: two came back, four were seen and held, three were not seen since; one is too young."""
    for place in range(9):
        mine = boat()
        job = repaired(mine, on=date(2024, 3, 5) + timedelta(days=30 * place))
        if place < 2:
            came(mine, on=date(2025, 2, 1), cause=job)
        elif place < 6:
            visit(mine, gone=date(2025, 6, 1))
    repaired(boat(), on=date(2026, 5, 1))


def test_record_says_two_of_nine_since_2024(shop: Shop) -> None:
    nine_of_which_two_came_back()

    found = record(shop)

    assert found.says == "2 of 9 here since 2024"
    assert (found.came_back, found.held, found.still_running, found.unknown) == (2, 4, 4, 0)
    assert (found.told, found.too_young, found.since_year) == (9, 1, 2024)


def test_nothing_is_said_of_what_is_too_young(shop: Shop) -> None:
    repaired(boat(), on=date(2026, 5, 1))

    found = record(shop)

    assert (found.says, found.still_running, found.too_young, found.since_year) == ("", 1, 1, None)


def test_no_repair_is_no_record(shop: Shop) -> None:
    found = record(shop)

    assert (found.says, found.repairs, found.others) == ("", (), ())
    assert found.belief(prior=0.125).mean == 0.125


def test_other_families_are_the_wider_group_and_nobodys_own(shop: Shop) -> None:
    mine = repaired(boat(), on=date(2024, 5, 1))
    other = repaired(boat(make="Sorrel", model="S90"), on=date(2024, 5, 1))
    nameless = repaired(boat(make="", model=""), on=date(2024, 5, 1))
    repaired(boat(), on=date(2024, 5, 1), way=Way.NEW)

    found, unknown = record(shop), record(shop, Wanted(way=Way.MEND, family=""))

    assert [one.job for one in found.repairs] == [mine.pk]
    assert {one.job for one in found.others} == {other.pk, nameless.pk}
    assert (unknown.repairs, len(unknown.others)) == ((), 3)


def test_times_are_years_or_seasons_run(shop: Shop) -> None:
    mine = boat()
    # from November to June, and boats run from May to October
    came(mine, on=date(2025, 6, 1), cause=repaired(mine, on=date(2024, 11, 1)))
    found = record(shop)
    season = Season(handed_over=5, first_month=5, months=6)

    (calendar,) = outcomes(found.repairs)
    (run,) = outcomes(found.repairs, clock=Clock.USE, season=season)

    assert (calendar.time, calendar.failed) == (pytest.approx(212 / 365.25), True)
    # one month of six was run
    assert (run.time, run.failed) == (pytest.approx(1 / 6, abs=0.02), True)


def test_belief_is_the_record_beside_the_others(shop: Shop) -> None:
    nine_of_which_two_came_back()
    for _ in range(3):
        repaired(boat(make="Sorrel", model="S90"), on=date(2024, 5, 1))
    found = record(shop)

    assert found.others_seen() == Seen(repairs=3, failures=0)
    assert found.belief(prior=0.2) == believed_beside(found.seen(), others=found.others_seen(), prior=0.2)
    assert not found.speaks()


@dataclass
class Told:
    """A repair as the oracle sees it: what it wrote down itself while it made the rows."""

    way: str | None
    family: str
    gone: date
    is_done: bool
    seen: list[date] = field(default_factory=list)
    sold: date | None = None
    # day it came, and for the same cause or not or nobody knows
    back: list[tuple[date, bool | None]] = field(default_factory=list)


def random_boat(luck: random.Random) -> Iterator[Told]:
    """A boat with one or two engines that comes up to five times and is perhaps sold."""
    make, model = luck.choice([*SPELLINGS, *OTHERS])
    mine = boat(make=make, model=model)
    engines = [mine.engine] + [
        EngineFactory.create(vessel=mine.vessel, make=make, model=model) for _ in range(luck.random() < 0.4)
    ]
    family = {"S90": "s", "25 L": "n"}.get(model, "p")
    written: list[tuple[Told, object, object]] = []
    day = date(2022, 1, 1) + timedelta(days=luck.randrange(900))
    sold = day + timedelta(days=luck.randrange(30, 1200)) if luck.random() < 0.3 else None
    while day < TODAY - timedelta(days=8) and len(written) < 5:
        engine = luck.choice(engines)
        told = _random_visit(luck, mine, engine=engine, day=day, written=written)
        told.family, told.sold = family, sold
        yield told
        day += timedelta(days=luck.choice([9, 40, 200, 365, 366, 500]))
    if sold is not None and sold <= TODAY:
        mine.vessel.ownerships.update(until_date=sold)


def _random_visit(
    luck: random.Random, mine: Boat, *, engine: object, day: date, written: list[tuple[Told, object, object]]
) -> Told:
    """One visit: it may be called off, not done, never agreed; and come from any job before it."""
    is_off, outcome = (
        luck.random() < 0.1,
        luck.choice([Outcome.DONE] * 4 + [Outcome.NO_FAULT, Outcome.DECLINED]),
    )
    way = luck.choice([Way.MEND, Way.MEND, Way.NEW, Way.LEAVE, None])
    stage = Stage.CANCELLED if is_off else Stage.GONE
    order = visit(mine, gone=day + STAY, stage=stage)
    cause = luck.choice(written) if written and luck.random() < 0.6 else None
    answer = luck.choice([True, True, False, None]) if cause else None
    job = JobFactory.create(
        work_order=order,
        engine=engine,
        stage=stage,
        outcome=outcome,
        caused_by_job=cause[2] if cause else None,
        is_for_same_cause=answer,
    )
    if luck.random() < 0.9:
        agree(job, way=way, at=order.opened_at)
    else:
        way = None
    if not is_off:
        for elder, _engine, _job in written:
            elder.seen.append(day)
    if cause:
        is_other = outcome == Outcome.NO_FAULT or cause[1] != engine
        cause[0].back.append((day, None if is_off else False if is_other else answer))
    told = Told(way=way, family="", gone=day + STAY, is_done=outcome == Outcome.DONE and not is_off)
    written.append((told, engine, job))
    return told


def counted(some: list[Told]) -> dict[str, int]:
    """The counts of a record, by the rules as a person would tell them."""
    counts = dict.fromkeys(("came_back", "held", "still_running", "unknown", "told"), 0)
    for one in some:
        if any(same is True for _, same in one.back):
            counts["came_back"] += 1
            counts["told"] += 1
        elif any(same is None for _, same in one.back):
            counts["unknown"] += 1
        else:
            is_sold = one.sold is not None and one.sold <= TODAY
            fate = "held" if one.seen else "unknown" if is_sold else "still_running"
            end = max([one.sold, *one.seen]) if is_sold else TODAY
            counts[fate] += 1
            is_leap = (one.gone.month, one.gone.day) == (2, 29)
            a_year_on = date(one.gone.year + 1, one.gone.month, 28 if is_leap else one.gone.day)
            counts["told"] += fate != "unknown" and end >= a_year_on
    return counts


@pytest.mark.parametrize("seed", range(1))
def test_record_is_counted_as_a_person_would(shop: Shop, seed: int) -> None:
    count_again(shop, seed=seed)


@pytest.mark.soak
@pytest.mark.parametrize("seed", range(100, 150))
def test_many_records_are_counted_as_a_person_would(shop: Shop, seed: int) -> None:
    count_again(shop, seed=seed)


def count_again(shop: Shop, *, seed: int) -> None:
    """Twenty boats and all their visits, counted by the record and by the oracle."""
    luck = random.Random(seed)
    told = [one for _ in range(20) for one in random_boat(luck)]
    asked = [Wanted(way=way, family=key) for way in (Way.MEND, Way.NEW) for key in KEYS.values()]

    found = repair_records(asked, shop=shop, at=noon(TODAY))

    for wanted in asked:
        mine = [
            one for one in told if one.is_done and one.way == wanted.way and KEYS[one.family] == wanted.family
        ]
        ours = found[wanted]
        assert {name: getattr(ours, name) for name in counted(mine)} == counted(mine)
        years = [outcome.time for outcome in outcomes(ours.repairs)]
        assert sorted(years) == pytest.approx(sorted(map(_years, mine)))
        assert sum(one.failed for one in outcomes(ours.repairs)) == counted(mine)["came_back"]


KEYS = {"p": "petrelmarine-p60", "s": "sorrel-s90", "n": "norsktern-25l"}


def _years(one: Told) -> float:
    """How long the oracle knows of a repair."""
    same, unjudged = ([day for day, is_same in one.back if is_same is word] for word in (True, None))
    if same or unjudged:
        end = min(same or unjudged)
    elif one.sold is not None and one.sold <= TODAY:
        end = max([one.gone, one.sold, *one.seen])
    else:
        end = TODAY
    return (end - one.gone).days / 365.25


@pytest.mark.parametrize("size", [1, 8])
def test_records_take_two_queries_and_load_no_money(
    shop: Shop, django_assert_num_queries: DjangoAssertNumQueries, size: int
) -> None:
    for place in range(size):
        mine = boat(model=f"P{place}")
        came(mine, on=date(2025, 2, 1), cause=repaired(mine, on=date(2024, 3, 5)))
    asked = [Wanted(way=way, family=f"petrelmarine-p{place}") for way in Way for place in range(size)]

    with django_assert_num_queries(2), CaptureQueriesContext(connection) as asking:
        found = repair_records(asked, shop=shop, at=noon(TODAY))

    assert (len(found), sum(one.came_back for one in found.values())) == (len(asked), size)
    money = ("cost", "wage", "price", "minor", "_e4")
    assert [word for word in money for one in asking.captured_queries if word in one["sql"]] == []
