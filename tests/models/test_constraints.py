"""The database itself refuses what no row may be: every constraint of every table, each by its name."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.db import IntegrityError, connection, models, transaction

from shopapp import models as rows
from tests.models.rows import DAY, ISSUED, MOMENT, SIGNED, every_model, make, refused_by

pytestmark = pytest.mark.django_db

type Columns = tuple[str, ...]

POSITIVE = (models.PositiveSmallIntegerField, models.PositiveIntegerField, models.PositiveBigIntegerField)

_LINE = {
    "price_not_negative": {"unit_price_e4": -1},
    "discount_at_most_whole": {"discount_e4": 10_001},
    "kind_known": {"kind": "wish"},
    "payer_known": {"payer": "nobody"},
    "condition_known": {"condition": "shiny"},
}
_ACTUAL = {
    "payer_known": {"payer": "nobody"},
    "override_has_a_reason": {"override_by": rows.Person},
    "struck_says_by_whom_and_why": {"struck_at": MOMENT, "struck_by": rows.Person},
}
SPECS = ("bulletin", "fluidcapacity", "knownfault", "readinglimit", "serviceinterval", "tighteningspec")
ACTUALS = ("partused", "timeentry", "fluidentry", "subletentry", "feeentry")
# check → what makes an otherwise valid row break it
BREACHES: dict[str, dict[str, Any]] = {
    **{f"{table}_{rule}": breach for table in ("quoteline", "invoiceline") for rule, breach in _LINE.items()},
    **{f"{table}_{rule}": breach for table in ACTUALS for rule, breach in _ACTUAL.items()},
    **{f"{table}_has_its_page": {"page": ""} for table in SPECS},
    **{
        f"{table}_{rule}": breach
        for table in ("wastepour", "wastehandover")
        for rule, breach in {
            "some": {"volume_ml": 0},
            "struck_says_by_whom_and_why": {"struck_at": MOMENT, "struck_by": rows.Person},
        }.items()
    },
    "wastecontainer_ended_says_by_whom": {"ended_at": MOMENT},
    "wastecontainer_says_what_and_how_much": {"size_ml": 0},
    "wastehandover_says_to_whom": {"collector": ""},
    "wastepour_says_what": {"fluid_entry": None, "what": ""},
    "activityhead_only_one": {"pk": 2},
    "bulletin_says_something": {"text": ""},
    "approval_declined_is_nil": {"decision": "declined"},
    "allocation_some": {"amount_minor": 0},
    "approval_is_signed": {"signed_name": ""},
    "approval_spoken_has_its_facts": {"how": "phone"},
    "billedsource_bills_one_row": {"fee_entry": rows.FeeEntry},
    "callslip_says_who_and_what": {"about": ""},
    "custodyentry_out_to_somebody": {"move": "out", "who": ""},
    "customer_exemption_has_a_reason": {"is_tax_exempt": True},
    "customer_has_a_name": {"name": ""},
    "device_ended_has_nobody": {
        "ended_at": MOMENT,
        "person": rows.Person,
        "stay_sha256": "0" * 64,
        "opened_at": MOMENT,
    },
    "device_has_a_name": {"name": ""},
    "device_locks_in_time": {"lock_minutes": 16},
    "device_stay_is_whole": {"person": rows.Person},
    "dockcall_taken_back_says_by_whom": {"taken_back_at": MOMENT},
    "engine_laid_up_says_by_whom_and_on_what": {"laid_up_at": MOMENT},
    "engine_serial_read_is_written": {"serial_state": "read", "serial": ""},
    "enginefamily_cylinders_sane": {"cylinders": 17, "cylinders_page": "1-1"},
    "enginefamily_figures_have_pages": {"gear_ratio_e4": 18_500},
    "enginefamily_gear_ratio_above_nought": {"gear_ratio_e4": 0, "gear_page": "1-1"},
    "enginefamily_has_make_and_name": {"make": ""},
    "enginefamily_power_is_a_range": {
        "power_from_tenths_hp": 600,
        "power_to_tenths_hp": 400,
        "power_page": "1-1",
    },
    "enginefamily_throttle_is_a_range": {
        "throttle_from_rpm": 6_000,
        "throttle_to_rpm": 5_000,
        "throttle_page": "1-1",
    },
    "customerlink_to_one_document": {"intake": rows.Intake},
    "clockspan_corrected_says_by_whom_and_why": {"corrected_at": MOMENT},
    "clockspan_has_an_end": {"on_at": None},
    "clockspan_says_what_on": {"kind": ""},
    "clockspan_stops_after_it_starts": {"on_at": None, "off_at": MOMENT, "stopped_at": MOMENT},
    "jobtest_temperature_has_a_unit": {"idle_temperature_e4": 710_000},
    "jobtest_speed_is_both_ways": {"speed_there_e4": 210_000, "speed_unit": "kn"},
    "jobnote_says_something": {"text": ""},
    "jobnote_struck_says_by_whom": {"struck_at": MOMENT},
    "tabletentry_known": {"state": "lost"},
    "tabletentry_review_says_why": {"reason": ""},
    "tabletentry_set_aside_says_why": {
        "state": "set_aside",
        "settled_by": rows.Person,
        "settled_at": MOMENT,
        "settled_reason": "",
    },
    "tabletentry_settled_says_by_whom": {"state": "taken"},
    "feeentry_some": {"quantity_milli": 0},
    "feerate_not_negative": {"unit_price_e4": -1},
    "fluidentry_some": {"drained_ml": 0, "filled_ml": 0},
    "fluidcapacity_some_somewhere": {"ml": 0},
    "knownfault_says_something": {"text": ""},
    "intake_amounts_not_negative": {"spending_limit_minor": -1},
    "intake_signed_is_complete": {"signed_at": MOMENT, "signed_name": "Pia Lindqvist"},
    "invoice_credit_note_says_what_and_why": {"kind": "credit_note"},
    "invoice_deposit_within_total": {"deposit_minor": 1},
    "invoice_discount_has_a_reason": {"discount_e4": 500},
    "invoice_over_has_a_reason": {"over_by": rows.Person},
    "invoiceline_some": {"quantity_milli": 0},
    "invoice_issued_is_complete": ISSUED,
    "invoice_total_adds_up": {"without_tax_minor": 10_000, "tax_minor": 500, "total_minor": 10_501},
    "job_limit_share_is_some": {"limit_share_minor": 0},
    "job_not_its_own_cause": {"pk": 7, "caused_by_job_id": 7},
    "job_outcome_known": {"outcome": "lost"},
    "job_same_cause_of_a_comeback": {"is_for_same_cause": False},
    "job_waiver_has_a_reason": {"waived_by": rows.Person},
    "job_stage_known": {"stage": "nowhere"},
    "labourrate_not_negative": {"sell_rate_e4": -1},
    "part_amounts_not_negative": {"unit_price_e4": -1},
    "part_has_number_and_name": {"number": ""},
    "partused_some": {"quantity_milli": 0},
    "payment_for_something": {"invoice": None},
    "payment_some": {"amount_minor": 0},
    "person_has_a_name": {"name": ""},
    "pinmiss_at_most": {"misses": 6},
    "placedhold_kind_known": {"kind": "mood"},
    "question_is_written": {"text": ""},
    "quoteline_some": {"quantity_milli": 0},
    "quotechoice_own_word_is_signed": {"own_word": "I'd take the new shaft."},
    "quotechoice_terms_in_bounds": {"look_months": 0},
    "quoteoption_amounts_not_negative": {"trade_in_minor": -1},
    "quoteoption_chance_is_open": {"chance_e4": 10_000},
    "quoteoption_has_a_title": {"title": ""},
    "quoterevision_discount_has_a_reason": {"discount_e4": 500},
    "reading_kind_known": {"kind": "mood"},
    "reading_minutes_above_nought": {"minutes_e4": 0},
    "reading_struck_says_by_whom_and_why": {"struck_at": MOMENT, "struck_by": rows.Person},
    "reading_verdict_known": {"verdict": "fine"},
    "readinglimit_is_a_range": {"maximum_e4": 1_000},
    "readinglimit_kind_known": {"kind": "mood"},
    "readinglimit_limits_something": {"minimum_e4": None},
    "readinglimit_loss_has_its_time": {"loss_e4": 10_000},
    "readingvalue_cylinders_from_one": {"cylinder": 0},
    "readingvalue_verdict_known": {"verdict": "fine"},
    "refund_some": {"amount_minor": 0},
    "serviceinterval_says_what_and_when": {"hours": None},
    "quoterevision_sent_is_frozen": {"state": "sent", "sent_at": MOMENT},
    "shop_has_a_name": {"name": ""},
    "shop_season_in_bounds": {"season_months": 13},
    "shop_usual_amounts_not_negative": {"minimum_charge_minor": -1},
    "subletentry_says_who_and_what": {"supplier": ""},
    "shop_only_one": {"pk": 2},
    "taxcode_category_known": {"category": "X"},
    "taxrate_at_most_whole": {"rate_e6": 1_000_001},
    "tighteningspec_has_fasteners": {"columns": 61},
    "tighteningspec_says_what": {"pattern": "heap"},
    "tighteningstage_does_something": {"value_e4": 0},
    "tighteningstage_unit_fits": {"kind": "angle"},
    "jobstep_removed_says_by_whom": {"removed_at": MOMENT},
    "jobstep_says_something": {"text": ""},
    "jobstep_waiver_has_a_reason": {"waived_by": rows.Person},
    "stepline_says_something": {"text": ""},
    "steplist_has_a_title": {"title": ""},
    "steptick_fastener_has_its_stage": {"fastener": 3},
    "steptick_struck_says_why": {"struck_at": MOMENT, "struck_by": rows.Person},
    "timeentry_within_a_day": {"minutes": 1_441},
    "visitperson_has_a_name": {"name": ""},
    "visitperson_payer_is_a_customer": {"part": "payer"},
    "wage_not_negative": {"hourly_e4": -1},
    "workorder_complaint_is_written": {"complaint": ""},
    "workorder_gone_has_a_time": {"stage": "gone"},
    "workorder_release_has_a_reason": {"released_by": rows.Person},
    "workorder_stage_known": {"stage": "nowhere"},
}
# some rules bind only rows of a kind
BOUND = {
    (rows.Invoice, "number"): ISSUED | {"number": "INV-00001"},
    (rows.Invoice, "credits"): {
        "kind": "credit_note",
        "credits": rows.Invoice,
        "credit_reason": "Wrong boat",
    },
    (rows.LabourRate, "labourrate_one_usual"): {"is_usual": True},
    (rows.ReadingValue, "readingvalue_one_a_cylinder"): {"cylinder": 1},
    (rows.Payment, "number"): {"number": "R-00001"},
    **{
        (rows.BilledSource, name): {"plan_line": None, name: model}
        for name, model in {
            "part_used": rows.PartUsed,
            "time_entry": rows.TimeEntry,
            "fluid_entry": rows.FluidEntry,
            "sublet_entry": rows.SubletEntry,
            "fee_entry": rows.FeeEntry,
        }.items()
    },
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
    column = next(iter(changes))
    # only this rule is broken, whichever of its rules the database looks at first
    reason = {"discount_reason": "kept too long"} if column == "discount_e4" else {}
    with pytest.raises(IntegrityError) as caught, transaction.atomic():
        make(model, **changes, **(reason if hasattr(model, "discount_reason") else {}))

    table = model._meta.db_table
    named = {"sqlite": column, "postgresql": f"{table}_{column}_check"}
    # a rule of ours about the same column may be looked at first
    ours = {one.name for one in model._meta.constraints if f"('{column}" in repr(one)}
    assert refused_by(caught.value) in {named[connection.vendor], *ours}


@pytest.mark.parametrize(
    ("model", "shared", "changes"),
    [
        (rows.LabourRate, (), {"is_usual": True}),
        (rows.EngineMounting, ("engine",), {"until_date": DAY}),
        (rows.VesselOwnership, ("vessel",), {"until_date": DAY}),
        (rows.Intake, ("work_order",), SIGNED),
        (rows.Invoice, ("work_order",), ISSUED | {"number": "INV-00001"}),
        (rows.DockCall, ("device", "call_date"), {"taken_back_at": MOMENT, "taken_back_by": rows.Person}),
    ],
    ids=[
        "rates of which one is usual",
        "engine that left",
        "owner who sold",
        "intake that is signed",
        "invoice that is issued",
        "dock call that was taken back",
    ],
)
def test_conditional_unique_rule_lets_others_through(
    model: type[models.Model], shared: Columns, changes: dict[str, Any]
) -> None:
    first = make(model)

    make(model, **{field: getattr(first, field) for field in shared}, **changes)

    assert counted(model) == 2
