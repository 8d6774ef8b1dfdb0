"""The shop's list of parts, and what a row of the actual book takes from it."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import LogFluidInput, UsePartInput, log_fluid, use_part
from shopapp.actions.parts import PartInput, add_part, edit_part
from shopapp.actions.refusals import NotAllowed, Stale
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Part, PartCondition, Person, Stage, Unit
from shopapp.queries.find import matching_ids
from tests.factories.jobs import job_at

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
SEAL = PartInput(number="SR-1188", description="Shaft seal", unit_price=Decimal("18.40"))


def test_part_is_found_by_its_number_at_once(ilse: Person, by: By) -> None:
    row = add_part(SEAL, by=by(ilse))

    assert matching_ids("sr1188", kinds=["part"]) == [("part", row.pk)]
    assert (row.unit_price_e4, row.unit_cost_e4, Activity.objects.get().verb) == (184_000, None, "add part")


@pytest.mark.parametrize("number", ["SR-1188", "sr 1188", "SR1188"])
def test_number_is_there_once_however_it_is_written(ilse: Person, by: By, number: str) -> None:
    add_part(SEAL, by=by(ilse))

    with pytest.raises(BadInput, match=r"^number"):
        add_part(replace(SEAL, number=number), by=by(ilse))

    assert Part.objects.count() == 1


def test_number_of_a_part_no_longer_sold_is_taken_too(ilse: Person, by: By) -> None:
    add_part(replace(SEAL, is_active=False), by=by(ilse))

    with pytest.raises(BadInput, match=r"^number"):
        add_part(SEAL, by=by(ilse))


@pytest.mark.parametrize(
    ("change", "field"),
    [({"number": " "}, "number"), ({"description": ""}, "description"), ({"tax_code": 999_999}, "tax_code")],
)
def test_part_needs_number_and_name(ilse: Person, by: By, change: dict[str, object], field: str) -> None:
    with pytest.raises(BadInput) as error:
        add_part(replace(SEAL, **change), by=by(ilse))

    assert (error.value.field, Part.objects.count()) == (field, 0)


def test_cost_is_the_owners_to_say(ilse: Person, maren: Person, by: By) -> None:
    with pytest.raises(NotAllowed):
        add_part(replace(SEAL, unit_cost=Decimal(9)), by=by(ilse))

    row = add_part(replace(SEAL, unit_cost=Decimal(9)), by=by(maren))

    saved = edit_part(row.pk, replace(SEAL, description="Propeller shaft seal"), version=1, by=by(ilse))
    assert (saved.description, saved.unit_cost_e4) == ("Propeller shaft seal", 90_000)


def test_technician_writes_no_parts(tobiah: Person, by: By) -> None:
    with pytest.raises(NotAllowed):
        add_part(SEAL, by=by(tobiah))


def test_second_editor_is_told_t22(ilse: Person, maren: Person, by: By) -> None:
    row = add_part(SEAL, by=by(ilse))
    edit_part(row.pk, replace(SEAL, description="Shaft seal, outer"), version=1, by=by(ilse))

    with pytest.raises(Stale) as stale:
        edit_part(row.pk, replace(SEAL, description="Shaft seal, inner"), version=1, by=by(maren))

    assert stale.value.record.description == "Shaft seal, outer"


def test_edit_of_nothing_leaves_no_trace(ilse: Person, by: By) -> None:
    row = add_part(SEAL, by=by(ilse))

    assert edit_part(row.pk, SEAL, version=1, by=by(ilse)).version == 1
    assert Activity.objects.count() == 1


def test_costs_stay_out_of_the_feed(maren: Person, by: By) -> None:
    row = add_part(replace(SEAL, unit_cost=Decimal("765.4321")), by=by(maren))
    edit_part(row.pk, replace(SEAL, unit_cost=Decimal("876.5432")), version=1, by=by(maren))

    told = "".join(Activity.objects.values_list("payload", flat=True))
    assert [figure in told for figure in ("765", "876")] == [False, False]


def test_listed_part_brings_name_unit_and_price(tobiah: Person, maren: Person, by: By) -> None:
    listed = add_part(replace(SEAL, unit=Unit.SET, unit_cost=Decimal(9)), by=by(maren))
    job = job_at(Stage.IN_HAND, technician=tobiah)

    row = use_part(job.pk, UsePartInput(quantity=Decimal(1), number="sr 1188"), by=by(tobiah))

    assert (row.part, row.number, row.description, row.unit) == (listed, "SR-1188", "Shaft seal", "set")
    assert (row.unit_cost_e4, row.unit_price_e4, row.price_rule) == (
        90_000,
        184_000,
        "price of the parts list",
    )


def test_listed_part_without_a_price_sells_at_cost_and_markup(tobiah: Person, maren: Person, by: By) -> None:
    add_part(replace(SEAL, unit_price=None, unit_cost=Decimal(10)), by=by(maren))
    job = job_at(Stage.IN_HAND, technician=tobiah)

    row = use_part(job.pk, UsePartInput(quantity=Decimal(1), number="SR-1188"), by=by(tobiah))

    # the band up to 50.00 adds 60 %
    assert (row.unit_cost_e4, row.unit_price_e4) == (100_000, 160_000)


def test_part_no_longer_sold_brings_nothing(tobiah: Person, ilse: Person, by: By) -> None:
    add_part(replace(SEAL, is_active=False), by=by(ilse))
    job = job_at(Stage.IN_HAND, technician=tobiah)
    data = UsePartInput(quantity=Decimal(1), number="SR-1188", description="Some seal")

    row = use_part(job.pk, data, by=by(tobiah))

    assert (row.part, row.description, row.unit_price_e4) == (None, "Some seal", None)


def test_customers_own_part_costs_nothing(tobiah: Person, ilse: Person, by: By) -> None:
    add_part(SEAL, by=by(ilse))
    job = job_at(Stage.IN_HAND, technician=tobiah)
    data = UsePartInput(quantity=Decimal(1), number="SR-1188", condition=PartCondition.CUSTOMERS_OWN)

    row = use_part(job.pk, data, by=by(tobiah))

    assert (row.condition, row.unit_price_e4, row.price_rule) == ("own", 0, "the customer's own part")


def test_condition_of_the_list_is_kept(tobiah: Person, ilse: Person, by: By) -> None:
    add_part(replace(SEAL, condition=PartCondition.REBUILT), by=by(ilse))
    job = job_at(Stage.IN_HAND, technician=tobiah)

    row = use_part(job.pk, UsePartInput(quantity=Decimal(1), number="SR-1188"), by=by(tobiah))

    assert row.condition == "rebuilt"


@pytest.mark.parametrize(
    ("unit", "price", "frozen"), [("L", "24", 240_000), ("ml", "0.024", 240_000), ("each", "24", None)]
)
def test_listed_fluid_is_priced_by_the_litre(
    tobiah: Person, ilse: Person, by: By, unit: str, price: str, frozen: int | None
) -> None:
    oil = PartInput(number="OIL-90", description="Gear oil", unit=Unit(unit), unit_price=Decimal(price))
    add_part(oil, by=by(ilse))
    job = job_at(Stage.IN_HAND, technician=tobiah)

    row = log_fluid(job.pk, LogFluidInput(point="gearcase", product="oil 90", filled_ml=750), by=by(tobiah))

    assert (row.product, row.unit_price_e4) == ("Gear oil", frozen)
