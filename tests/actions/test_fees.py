"""Fees that come up on a visit."""

from collections.abc import Callable
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.fees import FeeInput, log_fee
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.models import FeeEntry, FeeKind, FeeRate, Person, Stage, Unit
from tests.factories.invoices import Offered, Planned, approve
from tests.factories.jobs import job_at, plan_line

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]


@pytest.fixture
def travel() -> FeeRate:
    return FeeRate.objects.create(name="Drive to the dock", kind="travel", unit="km", unit_price_e4=12_500)


def test_usual_fee_brings_kind_unit_and_price(tobiah: Person, by: By, travel: FeeRate) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)

    row = log_fee(job.pk, FeeInput(quantity=Decimal(14), rate=travel.pk), by=by(tobiah))

    assert (row.kind, row.description, row.unit, row.quantity_milli) == (
        "travel",
        "Drive to the dock",
        "km",
        14_000,
    )
    assert (row.unit_price_e4, row.price_rule) == (12_500, "usual fee: Drive to the dock")


def test_free_fee_of_the_desk_has_its_price(ilse: Person, by: By) -> None:
    job = job_at(Stage.READY)
    data = FeeInput(
        quantity=Decimal(3),
        kind=FeeKind.STORAGE,
        description="Storage",
        unit=Unit.DAY,
        unit_price=Decimal("7.50"),
    )

    row = log_fee(job.pk, data, by=by(ilse))

    assert (row.kind, row.unit, row.unit_price_e4, row.price_rule) == (
        "storage",
        "day",
        75_000,
        "set by hand",
    )


def test_free_fee_of_a_technician_is_priced_later(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)

    row = log_fee(job.pk, FeeInput(quantity=Decimal(1), description="Crane"), by=by(tobiah))
    assert (row.unit_price_e4, row.kind) == (None, "other")

    with pytest.raises(NotAllowed):
        log_fee(
            job.pk,
            FeeInput(quantity=Decimal(1), description="Crane", unit_price=Decimal(1)),
            by=by(tobiah),
        )


def test_planned_fee_is_priced_as_agreed(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    approve(job, Offered(lines=[Planned(kind="fee", description="Oil disposal")]))
    line = plan_line(job, "fee")

    row = log_fee(job.pk, FeeInput(quantity=Decimal(1), line=line.pk), by=by(tobiah))

    assert (row.description, row.unit_price_e4, row.plan_line) == ("Oil disposal", 650_000, line)


@pytest.mark.parametrize(
    ("data", "field"),
    [
        (FeeInput(quantity=Decimal(1)), "description"),
        (FeeInput(quantity=Decimal(0), description="Lift"), "quantity"),
        (FeeInput(quantity=Decimal(1), rate=999_999), "rate"),
    ],
)
def test_fee_says_what_for_and_how_much(tobiah: Person, by: By, data: FeeInput, field: str) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)

    with pytest.raises(BadInput) as error:
        log_fee(job.pk, data, by=by(tobiah))

    assert (error.value.field, FeeEntry.objects.count()) == (field, 0)


@pytest.mark.parametrize("stage", [Stage.BOOKED, Stage.CANCELLED])
def test_no_fee_for_a_boat_that_is_not_here(ilse: Person, by: By, stage: Stage) -> None:
    job = job_at(stage)

    with pytest.raises(Refused, match="while the boat is here"):
        log_fee(job.pk, FeeInput(quantity=Decimal(1), description="Lift"), by=by(ilse))
