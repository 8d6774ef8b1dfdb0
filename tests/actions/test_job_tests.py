"""A test's verdict moves its job forward or back."""

from collections.abc import Callable
from decimal import Decimal

import pytest

from shopapp.actions import jobs
from shopapp.actions.actor import Actor
from shopapp.actions.job_tests import RecordTestInput, record_test
from shopapp.actions.refusals import Refused
from shopapp.calc.errors import BadInput
from shopapp.calc.units import Unit
from shopapp.models import Activity, Engine, EngineFamily, JobTest, Outcome, Person, ReadingLimit, Stage
from tests.factories.jobs import agreed_job
from tests.factories.spec_book import written_family

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]


def test_passed_test_makes_the_job_ready(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)

    row = record_test(job.pk, RecordTestInput(has_passed=True, conditions="calm"), by=by(tobiah))

    job.refresh_from_db()
    job.work_order.refresh_from_db()
    assert (job.stage, job.outcome, job.work_order.stage) == (Stage.READY, Outcome.DONE, Stage.READY)
    assert (row.kind, row.conditions, row.tested_by, row.tested_at) == (
        "water",
        "calm",
        tobiah,
        by(tobiah).at,
    )
    assert list(Activity.objects.order_by("seq").values_list("verb", flat=True)) == [
        "record test",
        "move job",
    ]


def test_failed_test_sends_the_job_back(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)

    record_test(job.pk, RecordTestInput(has_passed=False, remarks="Still leaks"), by=by(tobiah))

    job.refresh_from_db()
    move = Activity.objects.get(verb="move job")
    assert (job.stage, job.outcome) == (Stage.IN_HAND, Outcome.OPEN)
    assert move.payload == '{"from": "test", "to": "in_hand", "why": "Still leaks"}'


def test_failed_test_needs_its_reason(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)

    with pytest.raises(BadInput) as error:
        record_test(job.pk, RecordTestInput(has_passed=False, remarks=" "), by=by(tobiah))

    assert (error.value.field, JobTest.objects.count()) == ("remarks", 0)


def test_job_may_fail_and_then_pass(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)
    record_test(job.pk, RecordTestInput(has_passed=False, remarks="Still leaks"), by=by(tobiah))
    jobs.finish_work(job.pk, by=by(tobiah))

    record_test(job.pk, RecordTestInput(has_passed=True), by=by(tobiah))

    assert list(job.tests.order_by("pk").values_list("has_passed", flat=True)) == [False, True]


@pytest.mark.parametrize("stage", [Stage.HERE, Stage.IN_LINE, Stage.IN_HAND, Stage.READY])
def test_only_finished_work_is_tested(tobiah: Person, by: By, stage: Stage) -> None:
    job = agreed_job(stage, technician=tobiah)

    with pytest.raises(Refused) as refusal:
        record_test(job.pk, RecordTestInput(has_passed=True), by=by(tobiah))

    assert refusal.value.sentence == f"Only finished work is tested; this job is at “{stage.label}”."
    assert JobTest.objects.count() == 0


def test_figures_of_a_run_are_reckoned_by_the_spec_book_and_kept(
    tobiah: Person, maren: Person, by: By
) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)
    family = written_family(by(maren))
    known = {"gear_ratio_e4": 20_000, "gear_page": "7-1", "throttle_page": "1-3"}
    EngineFamily.objects.update(**known, throttle_from_rpm=5_000, throttle_to_rpm=6_000)
    Engine.objects.filter(pk=job.engine_id).update(family=family)
    run = RecordTestInput(
        has_passed=True,
        there=Decimal(40),
        back=Decimal(36),
        unit=Unit.MILE_PER_HOUR,
        rpm=4_600,
        pitch=Decimal(17),
        load="two people",
        fluid_seen="clean",
    )

    row = record_test(job.pk, run, by=by(tobiah))
    EngineFamily.objects.update(throttle_from_rpm=4_000)

    row.refresh_from_db()
    # 4,600 ÷ 2 × 17 in a minute are 37.02 mph: 38 would be faster than that
    assert row.said == (
        "38\u00a0mph as the mean of both ways; propeller slip -3 %; 4600 rpm: out of the maker's range; "
        "about 2 inches less pitch would help; "
        "faster than its propeller can be: check rpm, pitch, gear ratio and the current"
    )
    assert (row.speed_there_e4, row.speed_back_e4, row.speed_unit) == (400_000, 360_000, "mph")


def test_one_speed_alone_is_refused(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)

    with pytest.raises(BadInput, match="both speeds"):
        record_test(job.pk, RecordTestInput(has_passed=True, there=Decimal(20)), by=by(tobiah))
    assert not JobTest.objects.exists()


@pytest.mark.parametrize(
    ("point", "said"),
    [
        (
            "",
            "71\u00a0°C (160\u00a0°F) at idle: in limits; "
            "88\u00a0°C (190\u00a0°F) at full throttle: out of limits; "
            "limit 60\u00a0°C (140\u00a0°F) to 80\u00a0°C (176\u00a0°F) (5-3)",
        ),
        (
            "Oil pan",
            "Oil pan: 71\u00a0°C (160\u00a0°F) at idle: in limits; "
            "Oil pan: 88\u00a0°C (190\u00a0°F) at full throttle: at the edge; "
            "limit at most 90\u00a0°C (194\u00a0°F) (5-4)",
        ),
    ],
)
def test_temperatures_are_judged_as_readings_of_a_warm_engine_are(
    tobiah: Person, maren: Person, by: By, point: str, said: str
) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)
    family = written_family(by(maren))
    Engine.objects.filter(pk=job.engine_id).update(family=family)
    for place, least, most, page in (("", 60, 80, "5-3"), ("Oil pan", None, 90, "5-4")):
        ReadingLimit.objects.create(
            family=family,
            kind="temperature",
            point=place,
            minimum_e4=least and least * 10_000,
            maximum_e4=most * 10_000,
            unit=Unit.CELSIUS,
            page=page,
        )
    run = RecordTestInput(
        has_passed=True,
        idle_temperature=Decimal(71),
        full_temperature=Decimal(88),
        temperature_point=point,
    )

    row = record_test(job.pk, run, by=by(tobiah))

    row.refresh_from_db()
    assert row.said == said
    assert (row.idle_temperature_e4, row.full_temperature_e4) == (710_000, 880_000)
    assert (row.temperature_unit, row.temperature_point) == (Unit.CELSIUS, point)


def test_one_temperature_without_a_spec_book_is_still_kept(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)
    run = RecordTestInput(
        has_passed=True, full_temperature=Decimal("168.5"), temperature_unit=Unit.FAHRENHEIT
    )

    row = record_test(job.pk, run, by=by(tobiah))

    assert row.said == "168.5\u00a0°F (76\u00a0°C) at full throttle: no limit known"
    assert (row.idle_temperature_e4, row.full_temperature_e4) == (None, 1_685_000)


def test_place_without_a_temperature_says_nothing(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)

    row = record_test(job.pk, RecordTestInput(has_passed=True, temperature_point="Oil pan"), by=by(tobiah))

    assert (row.said, row.temperature_unit, row.temperature_point) == ("", "", "")


@pytest.mark.parametrize("value", ["2000.1", "-2000.1", "NaN", "Infinity", "1e400"])
def test_temperature_that_no_gauge_shows_is_refused(tobiah: Person, by: By, value: str) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)

    with pytest.raises(BadInput) as error:
        record_test(job.pk, RecordTestInput(has_passed=True, idle_temperature=Decimal(value)), by=by(tobiah))

    assert (error.value.field, JobTest.objects.count()) == ("idle_temperature", 0)
