"""The database itself refuses what no row may be: every constraint of every table, each by its name."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.db import IntegrityError, connection, models, transaction

from shopapp import models as rows
from tests.models.rows import DAY, ISSUED, MOMENT, every_model, make, refused_by

pytestmark = pytest.mark.django_db

type Columns = tuple[str, ...]

POSITIVE = (models.PositiveSmallIntegerField, models.PositiveIntegerField, models.PositiveBigIntegerField)

_LINE = {
    "price_not_negative": {"unit_price_e4": -1},
    "discount_at_most_whole": {"discount_e4": 10_001},
    "kind_known": {"kind": "wish"},
    "payer_known": {"payer": "nobody"},
}
# check → what makes an otherwise valid row break it
BREACHES: dict[str, dict[str, Any]] = {
    **{f"{table}_{rule}": breach for table in ("quoteline", "invoiceline") for rule, breach in _LINE.items()},
    "activityhead_only_one": {"pk": 2},
    "approval_declined_is_nil": {"decision": "declined"},
    "approval_is_signed": {"signed_name": ""},
    "customer_exemption_has_a_reason": {"is_tax_exempt": True},
    "customer_has_a_name": {"name": ""},
    "engine_serial_read_is_written": {"serial_state": "read", "serial": ""},
    "fluidentry_some": {"drained_ml": 0, "filled_ml": 0},
    "invoice_issued_is_complete": ISSUED,
    "invoice_total_adds_up": {"without_tax_minor": 10_000, "tax_minor": 500, "total_minor": 10_501},
    "job_stage_known": {"stage": "nowhere"},
    "labourrate_not_negative": {"sell_rate_e4": -1},
    "partused_some": {"quantity_milli": 0},
    "payment_some": {"amount_minor": 0},
    "person_has_a_name": {"name": ""},
    "quoteline_some": {"quantity_milli": 0},
    "quoteoption_has_a_title": {"title": ""},
    "quoterevision_sent_is_frozen": {"state": "sent", "sent_at": MOMENT},
    "shop_has_a_name": {"name": ""},
    "shop_only_one": {"pk": 2},
    "taxcode_category_known": {"category": "X"},
    "taxrate_at_most_whole": {"rate_e6": 1_000_001},
    "timeentry_within_a_day": {"minutes": 1_441},
    "wage_not_negative": {"hourly_e4": -1},
    "workorder_complaint_is_written": {"complaint": ""},
    "workorder_gone_has_a_time": {"stage": "gone"},
    "workorder_stage_known": {"stage": "nowhere"},
}
# some rules bind only rows of a kind
BOUND = {
    (rows.Invoice, "number"): ISSUED | {"number": "INV-00001"},
    (rows.LabourRate, "labourrate_one_usual"): {"is_usual": True},
}


def label(value: object) -> str:
    """Names the case in the list of tests."""
    if isinstance(value, type):
        return value.__name__
    return value if isinstance(value, str) else "-".join(value)


def checks() -> Iterator[tuple[type[models.Model], str]]:
    for model in every_model():
        for constraint in model._meta.constraints:
            if isinstance(constraint, models.CheckConstraint):
                yield model, constraint.name


def uniques() -> Iterator[tuple[type[models.Model], str, Columns]]:
    """Every unique rule: named constraints, and fields that are unique by themselves."""
    for model in every_model():
        for constraint in model._meta.constraints:
            if isinstance(constraint, models.UniqueConstraint):
                yield model, constraint.name, tuple(constraint.fields)
        for field in model._meta.concrete_fields:
            if field.unique and not field.primary_key:
                yield model, field.name, (field.name,)


def counted(model: type[models.Model]) -> int:
    return model._default_manager.count()


def refusal_of(model: type[models.Model], changes: dict[str, Any]) -> str:
    with pytest.raises(IntegrityError) as caught, transaction.atomic():
        make(model, **changes)
    return refused_by(caught.value)


def test_every_check_has_its_breach() -> None:
    named = sorted(name for _, name in checks())

    assert named == sorted(BREACHES)


@pytest.mark.parametrize("model", every_model(), ids=lambda model: model.__name__)
def test_valid_row_of_each_table_is_taken(model: type[models.Model]) -> None:
    row = make(model)

    assert model._default_manager.filter(pk=row.pk).count() == 1


@pytest.mark.parametrize(("model", "name"), list(checks()), ids=label)
def test_check_refuses_a_row_by_name(model: type[models.Model], name: str) -> None:
    refusal = refusal_of(model, BREACHES[name])

    assert (refusal, counted(model)) == (name, 0)


@pytest.mark.parametrize(("model", "name", "fields"), list(uniques()), ids=label)
def test_unique_rule_refuses_a_second_row(model: type[models.Model], name: str, fields: Columns) -> None:
    extra = BOUND.get((model, name), {})
    first = make(model, **extra)
    before = counted(model)

    refusal = refusal_of(model, extra | {field: getattr(first, field) for field in fields})

    columns = ", ".join(model._meta.get_field(field).column for field in fields)
    assert (refusal, counted(model)) == (f"unique: {columns}", before)


@pytest.mark.parametrize(
    ("model", "changes"),
    [
        (model, {field.name: -1})
        for model in every_model()
        for field in model._meta.concrete_fields
        if isinstance(field, POSITIVE)
    ],
    ids=label,
)
def test_count_below_nothing_is_refused(model: type[models.Model], changes: dict[str, int]) -> None:
    with pytest.raises(IntegrityError) as caught, transaction.atomic():
        make(model, **changes)

    column = next(iter(changes))
    table = model._meta.db_table
    named = {"sqlite": column, "postgresql": f"{table}_{column}_check"}
    assert refused_by(caught.value) == named[connection.vendor]


@pytest.mark.parametrize(
    ("model", "shared", "changes"),
    [
        (rows.LabourRate, (), {"is_usual": True}),
        (rows.EngineMounting, ("engine",), {"until_date": DAY}),
        (rows.VesselOwnership, ("vessel",), {"until_date": DAY}),
        (rows.Invoice, ("work_order",), ISSUED | {"number": "INV-00001"}),
    ],
    ids=["rates of which one is usual", "engine that left", "owner who sold", "invoice that is issued"],
)
def test_conditional_unique_rule_lets_others_through(
    model: type[models.Model], shared: Columns, changes: dict[str, Any]
) -> None:
    first = make(model)

    make(model, **{field: getattr(first, field) for field in shared}, **changes)

    assert counted(model) == 2
