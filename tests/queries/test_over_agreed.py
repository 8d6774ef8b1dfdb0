"""What goes beyond what the customer agreed to, from the rows of a visit."""

from datetime import timedelta
from typing import Any

import pytest
from django.db.models import Model
from pytest_django import DjangoAssertNumQueries

from shopapp.models import (
    BilledSource,
    FeeEntry,
    FluidEntry,
    Intake,
    Invoice,
    InvoiceLine,
    Job,
    PartUsed,
    Person,
    PriceKind,
    Quote,
    Shop,
    Stage,
    SubletEntry,
    TimeEntry,
    WorkOrder,
)
from shopapp.queries.over_agreed import HeldRow, held_back, over_agreed
from tests.factories import JobFactory
from tests.factories.invoices import DECIDED_AT, Offered, Planned, approve
from tests.factories.jobs import HOURS, agreed_job, job_at, log_parts, plan_line
from tests.models.rows import DIGEST, ISSUED, MOMENT, change, make

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("shop")]

# two seals at 18.40, a litre of oil at 24.00, two and a half hours at 115.00
AGREED = 3_680 + 2_400 + 28_750

LEAST: dict[type[Model], dict[str, Any]] = {
    PartUsed: {"description": "Water pump impeller", "quantity_milli": 1_000},
    TimeEntry: {"minutes": 90},
    FluidEntry: {"point": "gearcase", "product": "gear oil", "filled_ml": 750},
    SubletEntry: {"supplier": "Inlet Machine", "description": "Straighten the shaft"},
    FeeEntry: {"kind": "lift", "description": "Lift", "quantity_milli": 1_000},
}


def used(
    job: Job, *, price_e4: int | None, at: int = 1, model: type[Model] = PartUsed, **changes: Any
) -> Any:
    """A row of the actual book, so many minutes after the approval."""
    moment = DECIDED_AT + timedelta(minutes=at)
    person = make(Person)
    if model is TimeEntry:
        changes.setdefault("person", person)
    least = LEAST[model] | {"logged_by": person, "happened_at": moment, "recorded_at": moment} | changes
    return model._default_manager.create(job=job, unit_price_e4=price_e4, **least)


def job_of(kind: PriceKind) -> Job:
    return agreed_job(Stage.IN_HAND, price_kind=kind)


def reasons(visit: WorkOrder) -> dict[tuple[str, int], str]:
    return {row.key: row.standing.value for row in over_agreed(visit).held}


def test_nothing_logged_is_worth_the_fixed_price() -> None:
    found = over_agreed(job_of(PriceKind.FIXED).work_order)

    assert (found.authorised_minor, found.worth_minor, found.over_minor) == (AGREED, AGREED, 0)
    assert (found.held, found.is_over) == ((), False)


def test_extra_row_on_a_fixed_job_is_held_and_told() -> None:
    job = job_of(PriceKind.FIXED)
    row = used(job, price_e4=100_000)

    found = over_agreed(job.work_order)

    key = ("part_used", row.pk)
    assert (found.worth_minor, found.over_minor, found.is_over) == (AGREED + 1_000, 1_000, True)
    assert [(one.key, one.coins, one.why) for one in found.held] == [
        (key, 1_000, "not on the plan of a fixed price")
    ]
    assert held_back(job.work_order) == frozenset({key})


def test_row_of_the_plan_is_in_the_fixed_price() -> None:
    job = job_of(PriceKind.FIXED)
    used(job, price_e4=184_000, quantity_milli=90_000, plan_line=plan_line(job, "part"))

    assert (over_agreed(job.work_order).worth_minor, held_back(job.work_order)) == (AGREED, frozenset())


def test_row_from_before_the_answer_is_held_without_alarm() -> None:
    job = job_of(PriceKind.FIXED)
    row = used(job, price_e4=1_200_000, at=-30, model=TimeEntry, kind="diagnosis")

    assert reasons(job.work_order) == {("time_entry", row.pk): "before_the_price"}
    assert not over_agreed(job.work_order).is_over


def test_every_book_counts_on_time_and_material() -> None:
    job = job_of(PriceKind.TIME_AND_MATERIAL)
    used(job, price_e4=184_000, quantity_milli=2_000)
    used(job, price_e4=1_150_000, model=TimeEntry)
    used(job, price_e4=240_000, model=FluidEntry)
    used(job, price_e4=450_000, model=SubletEntry)
    used(job, price_e4=125_000, model=FeeEntry)

    found = over_agreed(job.work_order)

    assert (found.worth_minor, found.held) == (3_680 + 17_250 + 1_800 + 4_500 + 1_250, ())


def test_what_was_used_as_planned_fits_to_the_coin() -> None:
    """Three stretches of work, each a part of a coin, that make the hours of the plan."""
    job = job_of(PriceKind.TIME_AND_MATERIAL)
    used(job, price_e4=184_000, quantity_milli=2_000)
    used(job, price_e4=240_000, model=FluidEntry, filled_ml=1_000)
    for minutes in (70, 40, 40):
        used(job, price_e4=1_150_000, model=TimeEntry, minutes=minutes)

    found = over_agreed(job.work_order)

    assert (found.worth_minor, found.held, found.is_over) == (AGREED, (), False)


def test_newest_row_that_does_not_fit_is_held() -> None:
    job = job_of(PriceKind.TIME_AND_MATERIAL)
    used(job, price_e4=3_000_000, at=1)
    late = used(job, price_e4=500_000, at=3)
    used(job, price_e4=400_000, at=2)

    assert reasons(job.work_order) == {("part_used", late.pk): "no_room"}
    assert over_agreed(job.work_order).over_minor == 5_000


def test_job_with_a_ceiling_never_costs_more() -> None:
    job = job_of(PriceKind.CEILING)
    used(job, price_e4=9_000_000)

    found = over_agreed(job.work_order)

    assert (found.worth_minor, found.over_minor, found.held) == (AGREED, 0, ())


@pytest.mark.parametrize("model", [PartUsed, TimeEntry])
def test_row_without_a_price_waits_for_one(model: type[Model]) -> None:
    job = job_of(PriceKind.TIME_AND_MATERIAL)
    row = used(job, price_e4=None, model=model)

    assert [one.why for one in over_agreed(job.work_order).held] == ["not priced yet"]
    assert {pk for _, pk in held_back(job.work_order)} == {row.pk}


def test_fluid_only_drained_needs_no_price() -> None:
    job = job_of(PriceKind.TIME_AND_MATERIAL)
    used(job, price_e4=None, model=FluidEntry, filled_ml=0, drained_ml=700)

    assert held_back(job.work_order) == frozenset()


@pytest.mark.parametrize("payer", ["shop", "maker"])
def test_row_somebody_else_pays_counts_nowhere(payer: str) -> None:
    job = job_of(PriceKind.FIXED)
    used(job, price_e4=900_000, payer=payer, payer_reason="Our own slip")

    assert (over_agreed(job.work_order).worth_minor, held_back(job.work_order)) == (AGREED, frozenset())


def test_struck_row_counts_nowhere(ilse: Person) -> None:
    job = job_of(PriceKind.FIXED)
    used(job, price_e4=900_000, struck_at=MOMENT, struck_by=ilse, struck_reason="Wrong boat")

    assert (over_agreed(job.work_order).worth_minor, held_back(job.work_order)) == (AGREED, frozenset())


def test_owners_word_lets_a_row_through(maren: Person) -> None:
    job = job_of(PriceKind.FIXED)
    used(job, price_e4=900_000, override_by=maren, override_reason="He asked on the dock")

    found = over_agreed(job.work_order)

    assert (found.held, found.by_owner_minor, found.worth_minor) == ((), 9_000, AGREED)


def test_supplement_gives_room_and_plan_lines() -> None:
    job = job_of(PriceKind.FIXED)
    extra = approve(job, Offered(title="More", lines=[Planned(unit_price_e4=700_000)]))
    change(extra.choice.revision.quote, is_supplement=True)
    used(job, price_e4=700_000, plan_line=extra.lines.get())

    found = over_agreed(job.work_order)

    assert (found.authorised_minor, found.worth_minor, found.held) == (AGREED + 7_000, AGREED + 7_000, ())


def signed_terms(job: Job, *, fee_minor: int) -> None:
    """150.00 may be spent without asking."""
    Intake.objects.create(
        work_order=job.work_order,
        diagnosis_fee_minor=fee_minor,
        spending_limit_minor=15_000,
        created_at=MOMENT,
        signed_at=MOMENT,
        signed_how="paper",
        signed_name="Pia Lindqvist",
        shown_sha256=DIGEST,
        signed_sha256=DIGEST,
    )


def test_hours_inside_the_diagnosis_fee_take_no_room_from_the_limit() -> None:
    job = job_at(Stage.DIAGNOSIS)
    signed_terms(job, fee_minor=8_000)
    used(job, price_e4=1_200_000, model=TimeEntry, minutes=120, kind="diagnosis", at=1)
    used(job, price_e4=1_200_000, model=TimeEntry, minutes=75, kind="repair", at=2)

    found = over_agreed(job.work_order)

    assert (found.worth_minor, found.over_minor, found.held) == (15_000, 0, ())


def test_signed_limit_carries_the_diagnosis_until_something_is_agreed() -> None:
    job = job_at(Stage.DIAGNOSIS)
    signed_terms(job, fee_minor=0)
    used(job, price_e4=1_200_000, model=TimeEntry, minutes=60, kind="diagnosis", at=1)
    late = used(job, price_e4=400_000, at=2)

    found = over_agreed(job.work_order)

    assert (found.authorised_minor, found.worth_minor, found.over_minor) == (15_000, 16_000, 4_000)
    assert held_back(job.work_order) == frozenset({("part_used", late.pk)})


def test_without_any_yes_every_priced_row_is_beyond() -> None:
    job = job_at(Stage.DIAGNOSIS)
    row = used(job, price_e4=1, quantity_milli=100_000)

    assert reasons(job.work_order) == {("part_used", row.pk): "no_room"}


def test_share_of_the_shops_rules_comes_on_top(shop: Shop) -> None:
    change(shop, over_agreed_e4=1_000)
    job = job_of(PriceKind.TIME_AND_MATERIAL)
    used(job, price_e4=AGREED * 100)
    fits = used(job, price_e4=AGREED // 10 * 100, at=2)
    over = used(job, price_e4=200, at=3)

    found = over_agreed(job.work_order)

    assert (found.limit_minor, fits.pk in {pk for _, pk in held_back(job.work_order)}) == (38_313, False)
    assert held_back(job.work_order) == frozenset({("part_used", over.pk)})


def test_discount_on_the_whole_quote_lowers_what_is_agreed() -> None:
    job = job_at(Stage.IN_HAND, price_kind=PriceKind.CEILING)
    approve(job, Offered(lines=[HOURS], discount_e4=1_000))
    used(job, price_e4=9_000_000)

    assert over_agreed(job.work_order).worth_minor == 25_875


def test_billed_row_is_never_held() -> None:
    job = job_of(PriceKind.TIME_AND_MATERIAL)
    used(job, price_e4=3_000_000, at=1)
    billed = used(job, price_e4=3_000_000, at=2)
    invoice = make(Invoice, work_order=job.work_order, customer=job.work_order.customer)
    line = make(InvoiceLine, invoice=invoice, job=job)
    BilledSource.objects.create(line=line, part_used=billed)
    assert held_back(job.work_order) == frozenset({("part_used", billed.pk)})

    change(invoice, number="I-1", **ISSUED)

    assert {pk for _, pk in held_back(job.work_order)}.isdisjoint({billed.pk})


def test_agreement_of_one_job_makes_no_room_in_another_visit() -> None:
    job_of(PriceKind.FIXED)
    other = job_at(Stage.IN_HAND)
    row: HeldRow

    used(other, price_e4=100)

    (row,) = over_agreed(other.work_order).held
    assert (row.job_pk, row.coins) == (other.pk, 1)


def test_visit_of_several_jobs_shares_its_room() -> None:
    job = job_of(PriceKind.FIXED)
    second = JobFactory(work_order=job.work_order, position=2, price_kind="time")
    approve(second, Offered(lines=[HOURS]))
    used(second, price_e4=1_150_000, model=TimeEntry, minutes=150)

    found = over_agreed(job.work_order)

    assert (found.worth_minor, found.held) == (AGREED + 28_750, ())
    assert Quote.objects.filter(work_order=job.work_order).count() == 2


@pytest.mark.parametrize("count", [1, 60])
def test_reckoning_takes_five_queries(
    ilse: Person, django_assert_num_queries: DjangoAssertNumQueries, count: int
) -> None:
    job = job_of(PriceKind.TIME_AND_MATERIAL)
    log_parts(job, ilse, count=count, at=MOMENT)
    visit = WorkOrder.objects.get(pk=job.work_order_id)

    with django_assert_num_queries(5):
        assert len(over_agreed(visit).held) == count
