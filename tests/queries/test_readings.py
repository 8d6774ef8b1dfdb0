"""Readings in words, and the limits in force as plain facts for a tablet."""

import json
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.actions.readings import FigureInput, ReadingInput, log_reading, strike_reading
from shopapp.actions.spec_book import add_value
from shopapp.actions.spec_values import LimitInput
from shopapp.calc.units import Unit
from shopapp.calc.verdicts import Finding, Kind
from shopapp.models import Engine, Job, Person, ReadingKind, Stage, Warmth
from shopapp.queries.limits_in_force import as_plain, job_limits
from shopapp.queries.reading_rows import readings_of
from shopapp.queries.reading_words import SENTENCES
from shopapp.queries.readings import readings_page
from tests.actions.test_readings import VACUUM, WARM
from tests.factories.jobs import job_at
from tests.factories.spec_book import written_family

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
NBSP = "\u00a0"


@pytest.fixture
def job(tobiah: Person, maren: Person, by: By) -> Job:
    row = job_at(Stage.DIAGNOSIS, technician=tobiah)
    row.engine.family = written_family(by(maren))
    row.engine.save(update_fields=["family"])
    return row


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (WARM, f"1: 1,050, 2: 1,000, 3: 870{NBSP}kPa"),
        (VACUUM, f"50 → 35{NBSP}kPa in 5 min"),
        (
            replace(WARM, figures=(FigureInput(cylinder=1, value=Decimal(700), second=Decimal(900)),)),
            f"1!: 700 (with oil 900){NBSP}kPa",
        ),
        (
            ReadingInput(
                kind=ReadingKind.LEAK_DOWN,
                figures=(FigureInput(cylinder=2, value=Decimal(100), second=Decimal(92)),),
                unit=Unit.PSI,
            ),
            "2: 92 of 100 psi held",
        ),
        (
            ReadingInput(kind=ReadingKind.VOLTAGE, figures=(FigureInput(value=Decimal("12.6")),)),
            f"12.6{NBSP}V",
        ),
        (
            ReadingInput(
                kind=ReadingKind.FLUID_LOSS,
                figures=(FigureInput(value=Decimal("0.3"), second=Decimal("2.6")),),
                unit=Unit.LITRE,
                minutes=Decimal(90),
            ),
            f"0.3 lost, 2.6 left{NBSP}l in 90 min",
        ),
        (
            ReadingInput(
                kind=ReadingKind.FULL_THROTTLE,
                figures=(FigureInput(value=Decimal(5600), second=Decimal(17)),),
            ),
            f"5,600 with 17 in pitch,{NBSP}rpm",
        ),
    ],
    ids=lambda value: value.kind.value if isinstance(value, ReadingInput) else "",
)
def test_reading_is_told_in_words(job: Job, tobiah: Person, by: By, data: ReadingInput, words: str) -> None:
    log_reading(job.pk, data, by=by(tobiah))

    assert readings_of([job], viewer=tobiah, locale="en_CA")[job.pk][0].figures == words


def test_struck_reading_stays_readable(job: Job, tobiah: Person, wen: Person, by: By) -> None:
    row = log_reading(job.pk, WARM, by=by(tobiah))
    before = readings_of([job], viewer=wen, locale="en_CA")[job.pk][0]

    strike_reading(row.pk, reason="Throttle was shut", by=by(tobiah))

    after = readings_of([job], viewer=tobiah, locale="en_CA")[job.pk][0]
    assert (before.may_strike, after.may_strike) == (False, False)
    assert (after.is_struck, after.struck) == (True, "Throttle was shut (Tobiah Reyes)")


@pytest.mark.parametrize("size", [1, 8])
def test_readings_take_one_query_and_their_page_two(
    *, job: Job, tobiah: Person, by: By, size: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for _ in range(size):
        log_reading(job.pk, WARM, by=by(tobiah))
    job = Job.objects.select_related("work_order__vessel", "engine__family").get(pk=job.pk)

    with django_assert_num_queries(1):
        rows = readings_of([job], viewer=tobiah, locale="en_CA")[job.pk]
    with django_assert_num_queries(2):
        page = readings_page(job, kind=ReadingKind.COMPRESSION, viewer=tobiah, locale="en_CA")

    assert (len(rows), len(page.rows), page.cylinders) == (size, size, 3)
    assert page.limits[0].startswith("warm: 850")


def test_limits_are_plain_facts_in_every_unit_of_a_gauge(
    job: Job, maren: Person, by: By, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    hot = LimitInput(
        kind=ReadingKind.TEMPERATURE, point="Head", maximum=Decimal(80), unit=Unit.CELSIUS, page="3-1"
    )
    add_value(job.engine.family_id, hot, by=by(maren))
    engine = Engine.objects.get(pk=job.engine_id)

    with django_assert_num_queries(2):
        plain = json.loads(json.dumps(as_plain(job_limits(engine, locale="en_CA"))))

    kinds = {one["kind"]: one for one in plain["kinds"]}
    assert set(kinds) == {kind.value for kind in Kind}
    assert (plain["family"], plain["cylinders"]) == ("Petrel Marine P60", 3)
    assert set(plain["sentences"]) == {finding.value for finding in Finding} == set(SENTENCES)
    head = kinds["temperature"]["limits"][0]
    assert (head["point"], kinds["temperature"]["points"]) == ("Head", ["Head"])
    assert head["by_unit"]["deg_c"]["bounds"] == {
        "minimum": None,
        "low_edge": None,
        "maximum": 80.0,
        "high_edge": 77.0,
    }
    # 80 °C is 176 °F, and 3 degrees of the one are 5.4 of the other
    assert head["by_unit"]["deg_f"]["bounds"]["high_edge"] == pytest.approx(170.6)
    vacuum = kinds["gearcase_vacuum"]["limits"][0]["by_unit"]["kpa"]
    assert (vacuum["bounds"]["maximum"], vacuum["minutes"]) == (0.4, 5.0)
    assert kinds["full_throttle"]["limits"][0]["by_unit"][""]["bounds"]["maximum"] == 6000.0
    assert kinds["compression"]["limits"][0]["warmth"] == Warmth.WARM


def test_engine_without_a_family_has_no_limits(
    tobiah: Person, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    engine = job_at(Stage.DIAGNOSIS).engine
    with django_assert_num_queries(0):
        told = job_limits(engine, locale="en_CA")

    assert (told.family, [one.limits for one in told.kinds]) == ("", [()] * len(Kind))
    assert job_limits(None, locale="en_CA") == told
