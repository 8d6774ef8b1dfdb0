"""Readings are logged with the verdict and the limit of the moment, and struck out like the other rows."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.readings import FigureInput, ReadingInput, log_reading, strike_reading
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.spec_book import edit_value
from shopapp.calc.errors import BadInput
from shopapp.calc.units import Unit
from shopapp.models import Activity, Job, Person, Reading, ReadingKind, ReadingLimit, Stage, Warmth
from tests.factories.jobs import job_at
from tests.factories.spec_book import COMPRESSION, written_family

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
NBSP = "\u00a0"
WARM = ReadingInput(
    kind=ReadingKind.COMPRESSION,
    figures=tuple(
        FigureInput(cylinder=number, value=Decimal(value))
        for number, value in enumerate((1050, 1000, 870), start=1)
    ),
    unit=Unit.KILOPASCAL,
    warmth=Warmth.WARM,
)
VACUUM = ReadingInput(
    kind=ReadingKind.GEARCASE_VACUUM,
    figures=(FigureInput(value=Decimal(50), second=Decimal(35)),),
    unit=Unit.KILOPASCAL,
    minutes=Decimal(5),
)


@pytest.fixture
def job(tobiah: Person, maren: Person, by: By) -> Job:
    """A job of Tobiah's on a P60."""
    row = job_at(Stage.DIAGNOSIS, technician=tobiah)
    row.engine.family = written_family(by(maren))
    row.engine.save(update_fields=["family"])
    return row


def test_compression_is_judged_by_the_book_and_frozen_in_words(
    job: Job, tobiah: Person, maren: Person, by: By
) -> None:
    row = log_reading(job.pk, WARM, by=by(tobiah))

    # worked by hand in tests/calc/verdict_cases.json, "one cylinder low"
    assert (row.verdict, row.verdict_words) == ("out_of_limits", "out of limits; cylinders 17.1 % apart")
    bounds = f"850{NBSP}kPa (123.3{NBSP}psi) to 1,100{NBSP}kPa (159.5{NBSP}psi)"
    words = f"{bounds}; cylinders at most 10 % apart (4-12)"
    assert row.limit_words == words
    values = row.values.order_by("cylinder").values_list("cylinder", "value_e4", "verdict")
    assert list(values) == [
        (1, 10_500_000, "in_limits"),
        (2, 10_000_000, "in_limits"),
        (3, 8_700_000, "at_edge"),
    ]
    key = ("limit", ReadingLimit.objects.get(kind="compression").pk)
    edit_value(key, replace(COMPRESSION, minimum=Decimal(700), most_spread=None), version=1, by=by(maren))
    row.refresh_from_db()
    assert (row.verdict, row.limit_words) == ("out_of_limits", words)
    entry = Activity.objects.filter(verb="log reading").get()
    assert entry.work_order_id == job.work_order_id


def test_vacuum_that_is_lost_is_out_of_limits(job: Job, tobiah: Person, by: By) -> None:
    row = log_reading(job.pk, VACUUM, by=by(tobiah))

    assert row.verdict_words == "out of limits; loses 3 kPa a minute"
    assert (row.minutes_e4, row.values.get().second_e4) == (50_000, 350_000)


def test_limit_for_another_warmth_is_none(job: Job, tobiah: Person, by: By) -> None:
    row = log_reading(job.pk, replace(WARM, warmth=Warmth.COLD), by=by(tobiah))

    assert (row.verdict, row.limit_words) == ("no_limit", "")


def test_reading_without_a_family_is_kept_all_the_same(tobiah: Person, by: By) -> None:
    row = log_reading(job_at(Stage.IN_HAND, technician=tobiah).pk, WARM, by=by(tobiah))

    assert (row.verdict, row.verdict_words) == ("no_limit", "no limit known; cylinders 17.1 % apart")


def test_full_throttle_is_judged_by_the_familys_range(job: Job, tobiah: Person, by: By) -> None:
    revs = ReadingInput(
        kind=ReadingKind.FULL_THROTTLE, figures=(FigureInput(value=Decimal(4700), second=Decimal(19)),)
    )

    row = log_reading(job.pk, revs, by=by(tobiah))

    words = "out of limits; about 2 in less pitch would bring it in; a trial decides"
    assert (row.verdict_words, row.limit_words) == (words, "5000 to 6000 rpm (1-3)")


@pytest.mark.parametrize(
    ("data", "field"),
    [
        (replace(WARM, figures=()), "figures"),
        (replace(WARM, figures=(WARM.figures[0], WARM.figures[0])), "figures"),
        (replace(WARM, figures=(FigureInput(value=Decimal(5)),)), "cylinder"),
        (replace(WARM, figures=(FigureInput(cylinder=17, value=Decimal(5)),)), "cylinder"),
        (replace(WARM, figures=(FigureInput(cylinder=1, value=Decimal(10_000_000)),)), "value"),
        (replace(WARM, unit=Unit.LITRE), "unit"),
        (replace(VACUUM, minutes=None), "minutes"),
        (replace(VACUUM, minutes=Decimal(0)), "minutes"),
        (replace(VACUUM, figures=(FigureInput(value=Decimal(5)),)), "second"),
    ],
)
def test_reading_that_can_not_be_is_refused(
    job: Job, tobiah: Person, by: By, data: ReadingInput, field: str
) -> None:
    with pytest.raises(BadInput) as error:
        log_reading(job.pk, data, by=by(tobiah))

    assert (error.value.field, Reading.objects.count()) == (field, 0)


def test_other_technicians_and_jobs_not_begun_take_none(
    job: Job, wen: Person, tobiah: Person, by: By
) -> None:
    with pytest.raises(NotAllowed):
        log_reading(job.pk, WARM, by=by(wen))
    with pytest.raises(Refused):
        log_reading(job_at(Stage.HERE, technician=tobiah).pk, WARM, by=by(tobiah))

    assert Reading.objects.count() == 0


def test_reading_is_struck_once_with_its_reason(
    job: Job, tobiah: Person, wen: Person, ilse: Person, by: By
) -> None:
    row = log_reading(job.pk, WARM, by=by(tobiah))
    with pytest.raises(NotAllowed):
        strike_reading(row.pk, reason="not mine", by=by(wen))
    with pytest.raises(BadInput, match=r"^reason"):
        strike_reading(row.pk, reason="  ", by=by(tobiah))

    struck = strike_reading(row.pk, reason="Throttle was shut", by=by(tobiah))
    again = strike_reading(row.pk, reason="Once more", by=by(ilse))

    assert (struck.struck_reason, again.struck_reason) == ("Throttle was shut", "Throttle was shut")
    assert Activity.objects.filter(verb="strike reading").count() == 1
