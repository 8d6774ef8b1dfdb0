"""Work bought in from another shop."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.corrections import strike_row
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.sublets import SubletInput, log_sublet, take_back_sublet
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Person, Stage, SubletEntry
from tests.factories.invoices import Offered, Planned, approve
from tests.factories.jobs import job_at, plan_line

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
SHAFT = SubletInput(
    supplier="Inlet Machine", description="Straighten the shaft", due_back_date=date(2026, 6, 9)
)


def test_technician_sends_work_out_without_a_price(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)

    row = log_sublet(job.pk, SHAFT, by=by(tobiah))

    assert (row.supplier, row.description, row.due_back_date) == (
        "Inlet Machine",
        "Straighten the shaft",
        date(2026, 6, 9),
    )
    assert (row.unit_cost_e4, row.unit_price_e4, row.back_at) == (None, None, None)
    assert Activity.objects.get().verb == "log sublet"


def test_bill_of_the_other_shop_is_marked_up(ilse: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND)

    row = log_sublet(job.pk, replace(SHAFT, unit_cost=Decimal(100)), by=by(ilse))

    # the band above 50.00 adds 35 %
    assert (row.unit_cost_e4, row.unit_price_e4) == (1_000_000, 1_350_000)


def test_technician_may_not_enter_the_bill(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)

    with pytest.raises(NotAllowed):
        log_sublet(job.pk, replace(SHAFT, unit_cost=Decimal(100)), by=by(tobiah))


def test_planned_sublet_is_priced_as_agreed(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    approve(job, Offered(lines=[Planned(kind="sublet", description="Weld the bracket")]))
    data = SubletInput(supplier="Inlet Machine", line=plan_line(job, "sublet").pk)

    row = log_sublet(job.pk, data, by=by(tobiah))

    assert (row.description, row.unit_price_e4, row.plan_line) == (
        "Weld the bracket",
        650_000,
        plan_line(job, "sublet"),
    )


@pytest.mark.parametrize("field", ["supplier", "description"])
def test_sublet_says_who_and_what(tobiah: Person, by: By, field: str) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)

    with pytest.raises(BadInput) as error:
        log_sublet(job.pk, replace(SHAFT, **{field: " "}), by=by(tobiah))

    assert (error.value.field, SubletEntry.objects.count()) == (field, 0)


@pytest.mark.parametrize("stage", [Stage.BOOKED, Stage.CANCELLED])
def test_nothing_is_bought_in_for_a_boat_that_is_not_here(tobiah: Person, by: By, stage: Stage) -> None:
    job = job_at(stage, technician=tobiah)

    with pytest.raises(Refused, match="while the boat is here"):
        log_sublet(job.pk, SHAFT, by=by(tobiah))


def test_sublet_comes_back_once(tobiah: Person, ilse: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    sent = log_sublet(job.pk, SHAFT, by=by(tobiah))
    first = take_back_sublet(sent.pk, by=by(tobiah))

    second = take_back_sublet(sent.pk, by=by(ilse))

    assert first.back_at == second.back_at == by(tobiah).at
    assert list(Activity.objects.order_by("seq").values_list("verb", flat=True)) == [
        "log sublet",
        "take back sublet",
    ]


def test_struck_sublet_does_not_come_back(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    sent = log_sublet(job.pk, SHAFT, by=by(tobiah))
    strike_row(("sublet_entry", sent.pk), reason="Never went", by=by(tobiah))

    with pytest.raises(Refused, match="struck out"):
        take_back_sublet(sent.pk, by=by(tobiah))
