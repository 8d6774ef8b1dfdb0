"""What is logged keeps its cost, its price and the rule; and only while there is work.

The expected figures are worked out by hand beside each case; wages with burden: common practice, no source.
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import LogFluidInput, LogTimeInput, UsePartInput, log_fluid, log_time, use_part
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.models import (
    Activity,
    FluidCondition,
    FluidEntry,
    LabourRate,
    MarkupBand,
    PartUsed,
    Person,
    QuoteLine,
    Stage,
    TimeEntry,
    TimeKind,
    Unit,
)
from tests.factories import WageFactory
from tests.factories.invoices import PLANTED_COST_E4, Offered, Planned, approve
from tests.factories.jobs import agreed_job, job_at, plan_line

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]

GASKET = UsePartInput(quantity=Decimal(2), description="Plug gasket", number="SR-0031")
CLOSED_TO_LOGS = [Stage.BOOKED, Stage.HERE, Stage.READY]


def test_planned_part_freezes_the_agreed_price(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    line = plan_line(job, "part")

    row = use_part(job.pk, UsePartInput(quantity=Decimal("1.5"), line=line.pk), by=by(tobiah))

    assert (row.description, row.number, row.unit, row.quantity_milli) == (
        "Shaft seal",
        "SR-1188",
        "each",
        1_500,
    )
    assert (row.unit_cost_e4, row.unit_price_e4, row.price_rule) == (PLANTED_COST_E4, 184_000, "as agreed")
    assert (row.plan_line, row.logged_by, row.happened_at) == (line, tobiah, by(tobiah).at)


def test_planned_discount_is_told_in_the_rule(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    approve(job, Offered(lines=[Planned(discount_e4=1_250)]))

    row = use_part(job.pk, UsePartInput(quantity=Decimal(1), line=plan_line(job, "part").pk), by=by(tobiah))

    assert (row.unit_price_e4, row.price_rule) == (650_000, "as agreed, before 12.5 % discount")


def test_extra_part_of_a_technician_is_not_priced(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    row = use_part(job.pk, GASKET, by=by(tobiah))

    assert (row.unit_cost_e4, row.unit_price_e4, row.price_rule, row.plan_line) == (None, None, "", None)


@pytest.mark.parametrize(
    ("cost", "cost_e4", "price_e4"),
    [
        # bands of the test shop: up to 50.00 plus 60 %, above plus 35 %; half up to the cent
        ("3.20", 32_000, 51_200),  # 3.20 x 1.6 = 5.12
        ("50.00", 500_000, 800_000),  # 50.00 x 1.6 = 80.00
        ("50.01", 500_100, 675_100),  # 50.01 x 1.35 = 67.5135 -> 67.51
        ("0.0125", 125, 200),  # 0.0125 x 1.6 = 0.02
    ],
)
def test_extra_part_of_the_desk_is_marked_up(
    ilse: Person, by: By, cost: str, cost_e4: int, price_e4: int
) -> None:
    job = agreed_job(Stage.IN_HAND)
    data = UsePartInput(quantity=Decimal(1), description="O-ring", unit_cost=Decimal(cost))

    row = use_part(job.pk, data, by=by(ilse))

    assert (row.unit_cost_e4, row.unit_price_e4) == (cost_e4, price_e4)
    assert row.price_rule.startswith("Cost ")


def test_shop_without_bands_leaves_the_price_open(ilse: Person, by: By) -> None:
    MarkupBand.objects.all().delete()
    job = agreed_job(Stage.IN_HAND)
    data = UsePartInput(quantity=Decimal(1), description="O-ring", unit_cost=Decimal(3))

    row = use_part(job.pk, data, by=by(ilse))

    assert (row.unit_cost_e4, row.unit_price_e4) == (30_000, None)


def test_technician_may_not_enter_a_cost(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    data = UsePartInput(quantity=Decimal(1), description="O-ring", unit_cost=Decimal(3))

    with pytest.raises(NotAllowed) as refusal:
        use_part(job.pk, data, by=by(tobiah))

    assert refusal.value.sentence == "Only the desk enters what a part costs."
    assert PartUsed.objects.count() == 0


def test_line_of_another_job_is_no_plan(tobiah: Person, by: By) -> None:
    job, other = (agreed_job(Stage.IN_HAND, technician=tobiah) for _ in range(2))
    data = UsePartInput(quantity=Decimal(1), line=plan_line(other, "part").pk)

    with pytest.raises(BadInput) as error:
        use_part(job.pk, data, by=by(tobiah))

    assert (error.value.field, PartUsed.objects.count()) == ("line", 0)


def test_line_of_another_kind_is_no_plan(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    with pytest.raises(BadInput, match=r"^line"):
        use_part(job.pk, UsePartInput(quantity=Decimal(1), line=plan_line(job, "fluid").pk), by=by(tobiah))


def test_line_of_an_option_not_chosen_is_no_plan(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    first = plan_line(job, "part")
    approve(job, Offered(lines=[Planned(description="Whole gearcase")]))
    newest = QuoteLine.objects.get(description="Whole gearcase")

    row = use_part(job.pk, UsePartInput(quantity=Decimal(1), line=newest.pk), by=by(tobiah))

    assert row.description == "Whole gearcase"
    with pytest.raises(BadInput, match=r"^line"):
        use_part(job.pk, UsePartInput(quantity=Decimal(1), line=first.pk), by=by(tobiah))


@pytest.mark.parametrize("quantity", ["0", "-1", "0.0001", "NaN"])
def test_part_needs_some_quantity(tobiah: Person, by: By, quantity: str) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    data = UsePartInput(quantity=Decimal(quantity), description="O-ring")

    with pytest.raises(BadInput) as error:
        use_part(job.pk, data, by=by(tobiah))

    assert error.value.field in ("quantity", "number")
    assert PartUsed.objects.count() == 0


def test_part_needs_a_name_or_a_line(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    with pytest.raises(BadInput, match=r"^description"):
        use_part(job.pk, UsePartInput(quantity=Decimal(1)), by=by(tobiah))


@pytest.mark.parametrize(
    ("wages", "cost_e4"),
    [
        ([], None),
        # 30.00 and 25 % on top is 37.50
        ([(date(2026, 1, 1), 300_000, 2_500)], 375_000),
        # the newest that has begun counts: 40.00 and 10 % is 44.00; July's is not yet
        (
            [
                (date(2026, 1, 1), 300_000, 2_500),
                (date(2026, 6, 2), 400_000, 1_000),
                (date(2026, 7, 1), 900_000, 0),
            ],
            440_000,
        ),
        # 30.3333 and 10.55 % is 33.53346315, half up to 33.5335
        ([(date(2026, 1, 1), 303_333, 1_055)], 335_335),
    ],
)
def test_time_costs_the_wage_of_that_day(
    tobiah: Person, by: By, wages: list[tuple[date, int, int]], cost_e4: int | None
) -> None:
    for from_date, hourly, burden in wages:
        WageFactory(person=tobiah, from_date=from_date, hourly_e4=hourly, burden_e4=burden)
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    row = log_time(job.pk, LogTimeInput(minutes=90), by=by(tobiah))

    assert (row.minutes, row.unit_cost_e4, row.person) == (90, cost_e4, tobiah)


def test_time_sells_at_the_usual_rate(tobiah: Person, by: By) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)

    row = log_time(job.pk, LogTimeInput(minutes=30, kind=TimeKind.DIAGNOSIS), by=by(tobiah))

    assert (row.unit_price_e4, row.price_rule) == (1_200_000, "usual rate: Shop labour")


def test_time_as_planned_sells_as_agreed(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    WageFactory(person=tobiah)

    row = log_time(job.pk, LogTimeInput(minutes=60, line=plan_line(job, "labour").pk), by=by(tobiah))

    assert (row.unit_price_e4, row.unit_cost_e4, row.price_rule) == (1_150_000, 375_000, "as agreed")


def test_time_without_a_usual_rate_stays_open(tobiah: Person, by: By) -> None:
    LabourRate.objects.all().delete()
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)

    row = log_time(job.pk, LogTimeInput(minutes=30), by=by(tobiah))

    assert (row.unit_price_e4, row.price_rule) == (None, "")


def test_time_is_what_has_passed_when_the_clock_changes_t29(tobiah: Person, by: By) -> None:
    """Somebody types how long they worked, never from when until when: no clock is asked."""
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)
    changes = [datetime(2026, 3, 8, 9, tzinfo=UTC), datetime(2026, 11, 1, 7, tzinfo=UTC)]
    moments = [change + timedelta(minutes=20 * n) for change in changes for n in range(9)]

    rows = [log_time(job.pk, LogTimeInput(minutes=95), by=replace(by(tobiah), at=at)) for at in moments]

    kept = [(row.minutes, row.happened_at) for row in TimeEntry.objects.order_by("pk")]
    assert kept == [(95, row.happened_at) for row in rows] == [(95, at) for at in moments]


@pytest.mark.parametrize("minutes", [-1, 0, 1441])
def test_time_fits_into_a_day(tobiah: Person, by: By, minutes: int) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)

    with pytest.raises(BadInput, match=r"^minutes"):
        log_time(job.pk, LogTimeInput(minutes=minutes), by=by(tobiah))


def test_technician_logs_own_time_only(tobiah: Person, wen: Person, by: By) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)

    with pytest.raises(NotAllowed) as refusal:
        log_time(job.pk, LogTimeInput(minutes=30, person=wen.pk), by=by(tobiah))

    assert (refusal.value.sentence, TimeEntry.objects.count()) == ("You can log your own time only.", 0)


def test_desk_logs_the_time_of_anybody(ilse: Person, wen: Person, by: By) -> None:
    job = job_at(Stage.DIAGNOSIS)

    row = log_time(job.pk, LogTimeInput(minutes=30, person=wen.pk), by=by(ilse))

    assert (row.person, row.logged_by) == (wen, ilse)


@pytest.mark.parametrize(
    ("unit", "price_e4", "frozen"),
    [("L", 240_000, 240_000), ("ml", 240, 240_000), ("each", 240_000, None)],
)
def test_fluid_as_planned_is_priced_by_the_litre(
    tobiah: Person, by: By, unit: str, price_e4: int, frozen: int | None
) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    approve(
        job,
        Offered(lines=[Planned(kind="fluid", description="Gear oil", unit=unit, unit_price_e4=price_e4)]),
    )
    data = LogFluidInput(point="gearcase", filled_ml=750, line=plan_line(job, "fluid").pk)

    row = log_fluid(job.pk, data, by=by(tobiah))

    assert (row.product, row.filled_ml, row.unit_price_e4) == ("Gear oil", 750, frozen)


def test_more_fluid_than_fits_is_accepted(tobiah: Person, by: By) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)
    data = LogFluidInput(point="gearcase", product="Oil", drained_ml=9_000, condition=FluidCondition.MILKY)

    row = log_fluid(job.pk, data, by=by(tobiah))

    assert (row.drained_ml, row.filled_ml, row.condition) == (9_000, 0, "milky")


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"drained_ml": 0, "filled_ml": 0}, "filled_ml"),
        ({"drained_ml": 500}, "condition"),
        ({"product": " "}, "product"),
    ],
)
def test_fluid_refuses_what_makes_no_sense(
    tobiah: Person, by: By, changes: dict[str, object], field: str
) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)
    data = LogFluidInput(**{"point": "gearcase", "product": "Oil", "filled_ml": 700} | changes)

    with pytest.raises(BadInput) as error:
        log_fluid(job.pk, data, by=by(tobiah))

    assert (error.value.field, FluidEntry.objects.count()) == (field, 0)


@pytest.mark.parametrize("stage", CLOSED_TO_LOGS)
def test_nothing_is_logged_before_or_after(tobiah: Person, by: By, stage: Stage) -> None:
    job = job_at(stage, technician=tobiah)
    sentence = f"Parts, hours and fluids are logged from diagnosis to test; this job is at “{stage.label}”."

    for log, data in (
        (use_part, GASKET),
        (log_time, LogTimeInput(minutes=5)),
        (log_fluid, LogFluidInput(point="gearcase", product="Oil", filled_ml=5)),
    ):
        with pytest.raises(Refused) as refusal:
            log(job.pk, data, by=by(tobiah))

        assert refusal.value.sentence == sentence
    assert Activity.objects.count() == 0


def test_feed_of_a_log_holds_no_money(ilse: Person, by: By) -> None:
    job = agreed_job(Stage.IN_HAND)
    data = UsePartInput(
        quantity=Decimal(2), description="O-ring", unit=Unit.SET, unit_cost=Decimal("765.4321")
    )

    use_part(job.pk, data, by=by(ilse))

    assert Activity.objects.get().payload == (
        '{"job": 1, "part": "O-ring", "quantity": "2.000", "unit": "set"}'
    )
