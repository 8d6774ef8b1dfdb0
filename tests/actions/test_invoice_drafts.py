"""A draft under the hand: what is left out comes back, nothing gets dearer, and the agreed sum is a wall."""

import contextlib
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.invoice_drafts import (
    DraftInput,
    FeeInput,
    LineChange,
    add_fee,
    bill_beyond,
    change_line,
    edit_draft,
    keep_draft,
    leave_out,
    take_in,
)
from shopapp.actions.invoices import discard_draft, draft_invoice, issue_invoice, redraft_invoice
from shopapp.actions.refusals import NotAllowed, Refused, Stale
from shopapp.calc.errors import BadInput
from shopapp.models import (
    Activity,
    BilledSource,
    Customer,
    Intake,
    Invoice,
    Job,
    Outcome,
    PartUsed,
    Person,
    PriceKind,
    Shop,
    Stage,
    TimeEntry,
    VisitPerson,
    WorkOrder,
)
from tests.factories import CustomerFactory, JobFactory, WorkOrderFactory
from tests.factories.invoices import DECIDED_AT, Offered, Planned, approve, drafted, finished_job

pytestmark = pytest.mark.django_db

ByPerson = Callable[[Person], Actor]
LABOUR = Planned(kind="labour", description="Fit it", number="", unit="h", unit_price_e4=1_200_000)


def shown(invoice: Invoice) -> list[tuple[str, str, int]]:
    return list(invoice.lines.order_by("position").values_list("origin", "description", "amount_minor"))


def logged(job: Job, person: Person, price: str, **changes: object) -> PartUsed:
    """A part in the actual book after the customer agreed."""
    facts = {
        "job": job,
        "description": "Seal",
        "quantity_milli": 1_000,
        "unit_price_e4": int(Decimal(price) * 10_000),
        "logged_by": person,
        "happened_at": DECIDED_AT,
        "recorded_at": DECIDED_AT,
    }
    return PartUsed.objects.create(**facts | changes)


def clocked(job: Job, person: Person, minutes: int, **changes: object) -> TimeEntry:
    """Minutes at 120.00 an hour."""
    facts = {
        "job": job,
        "person": person,
        "minutes": minutes,
        "unit_price_e4": 1_200_000,
        "logged_by": person,
        "happened_at": DECIDED_AT,
        "recorded_at": DECIDED_AT,
    }
    return TimeEntry.objects.create(**facts | changes)


def priced_job(kind: str, lines: list[Planned], **changes: object) -> Job:
    return finished_job(lines, price_kind=kind, **changes)


def signed_intake(visit: WorkOrder, *, fee: int = 0, limit: int = 0) -> Intake:
    return Intake.objects.create(
        work_order=visit,
        diagnosis_fee_minor=fee,
        spending_limit_minor=limit,
        created_at=DECIDED_AT,
        signed_at=DECIDED_AT,
        signed_how="paper",
        signed_name="Aud Nilsen",
        shown_sha256="0" * 64,
        signed_sha256="0" * 64,
    )


def test_ceiling_bills_what_was_logged_up_to_what_was_agreed(
    ilse: Person, tobiah: Person, by: ByPerson
) -> None:
    job = priced_job(PriceKind.CEILING, [Planned(unit_price_e4=1_000_000), LABOUR])
    plan = {line.kind: line for line in job.choices.get().options.get().lines.all()}
    logged(job, tobiah, "150", plan_line=plan["part"])
    clocked(job, tobiah, 50, plan_line=plan["labour"])
    clocked(job, tobiah, 40, plan_line=plan["labour"])

    draft = draft_invoice(job.work_order_id, by=by(ilse))

    # by hand: 220.00 agreed; 90 minutes at 120.00 are 180.00, the part 150.00: 110.00 above, shared 6 : 5
    assert shown(draft) == [
        ("actual", "Fit it", 18_000),
        ("actual", "Seal", 15_000),
        ("ceiling", "Above the agreed maximum: not charged", -6_000),
        ("ceiling", "Above the agreed maximum: not charged", -5_000),
    ]
    assert draft.without_tax_minor == 22_000
    assert BilledSource.objects.filter(line__invoice=draft).count() == 3


def test_time_and_material_bills_rows_at_the_plans_discount(
    ilse: Person, tobiah: Person, by: ByPerson
) -> None:
    job = priced_job(PriceKind.TIME_AND_MATERIAL, [Planned(unit_price_e4=1_000_000, discount_e4=1_000)])
    logged(job, tobiah, "60", plan_line=job.choices.get().options.get().lines.get())

    draft = draft_invoice(job.work_order_id, by=by(ilse))

    assert shown(draft) == [("actual", "Seal", 5_400)]


def test_struck_and_other_peoples_rows_are_not_billed(ilse: Person, tobiah: Person, by: ByPerson) -> None:
    job = priced_job(PriceKind.TIME_AND_MATERIAL, [Planned(unit_price_e4=5_000_000)])
    logged(job, tobiah, "10")
    logged(job, tobiah, "20", payer="shop")
    logged(job, tobiah, "30", struck_at=DECIDED_AT, struck_by=tobiah, struck_reason="typed twice")
    PartUsed.objects.filter(pk=logged(job, tobiah, "40").pk).update(unit_price_e4=None)

    draft = draft_invoice(job.work_order_id, by=by(ilse))

    assert shown(draft) == [("actual", "Seal", 1_000)]


def test_quotes_discount_is_on_the_bill_to_the_coin(ilse: Person, by: ByPerson) -> None:
    job = JobFactory.create(
        work_order=WorkOrderFactory.create(stage=Stage.READY), stage=Stage.READY, outcome=Outcome.DONE
    )
    approve(job, Offered(lines=[Planned(unit_price_e4=100_500), LABOUR], discount_e4=500))

    draft = draft_invoice(job.work_order_id, by=by(ilse))

    # by hand: 130.05 × 0.05 = 6.5025 → 6.50; 10.05 : 120.00 → 0.5023 and 5.9977 → 0.50 and 6.00
    assert [amount for origin, _, amount in shown(draft) if origin == "discount"] == [-50, -600]
    assert draft.without_tax_minor == 12_355


def test_left_out_line_waits_and_is_taken_in(ilse: Person, by: ByPerson) -> None:
    draft = drafted([Planned(), LABOUR], by=by(ilse))
    first = draft.lines.get(position=1)

    after = leave_out(first.pk, version=1, by=by(ilse))

    assert shown(after) == [("plan", "Fit it", 12_000)]
    assert after.without_tax_minor == 12_000
    again = take_in(after.pk, [("plan_line", first.plan_line_id)], version=2, by=by(ilse))
    assert (shown(again)[0], again.without_tax_minor) == (("plan", "Gasket set", 6_500), 18_500)


def test_left_out_line_is_billed_by_the_next_invoice_only(ilse: Person, by: ByPerson) -> None:
    draft = drafted([Planned(), LABOUR], by=by(ilse))
    leave_out(draft.lines.get(position=1).pk, version=1, by=by(ilse))
    issue_invoice(draft.pk, by=by(ilse))

    second = draft_invoice(draft.work_order_id, by=by(ilse))

    assert shown(second) == [("plan", "Gasket set", 6_500)]


def test_two_edits_of_one_version_leave_the_first(ilse: Person, maren: Person, by: ByPerson) -> None:
    draft = drafted([Planned(), LABOUR], by=by(ilse))
    edit_draft(draft.pk, DraftInput(purchase_order="PO 7"), version=1, by=by(ilse))

    with pytest.raises(Stale):
        edit_draft(draft.pk, DraftInput(purchase_order="PO 8"), version=1, by=by(maren))

    assert Invoice.objects.get().purchase_order == "PO 7"


def test_changed_line_keeps_words_discount_and_gift(ilse: Person, by: ByPerson) -> None:
    draft = drafted([Planned(), LABOUR], by=by(ilse))
    gift = LineChange(description="Gasket set, again", is_goodwill=True, note="ours leaked")

    after = change_line(draft.lines.get(position=1).pk, gift, version=1, by=by(ilse))
    cheaper = LineChange(description="Fit it", discount=Decimal("0.25"))
    after = change_line(after.lines.get(position=2).pk, cheaper, version=2, by=by(ilse))

    assert shown(after) == [("plan", "Gasket set, again", 0), ("plan", "Fit it", 9_000)]
    line = after.lines.get(position=1)
    assert (line.payer, line.note, after.without_tax_minor) == ("shop", "ours leaked", 9_000)
    assert issue_invoice(after.pk, by=by(ilse)).without_tax_minor == 9_000


def test_line_never_gets_dearer_than_agreed(ilse: Person, by: ByPerson) -> None:
    draft = drafted([Planned(discount_e4=1_000)], by=by(ilse))

    with pytest.raises(BadInput, match="at least the agreed 10 %"):
        change_line(draft.lines.get().pk, LineChange(description="x"), version=1, by=by(ilse))


@pytest.mark.parametrize(
    ("change", "field"),
    [
        (LineChange(description=" "), "description"),
        (LineChange(description="x", is_goodwill=True), "note"),
        (LineChange(description="x", discount=Decimal("1.5")), "discount"),
    ],
)
def test_change_that_will_not_do_is_refused(
    change: LineChange, field: str, ilse: Person, by: ByPerson
) -> None:
    draft = drafted(by=by(ilse))

    with pytest.raises(BadInput) as caught:
        change_line(draft.lines.get().pk, change, version=1, by=by(ilse))

    assert caught.value.field == field


def test_discount_on_the_whole_bill_is_taxed_right(ilse: Person, by: ByPerson) -> None:
    draft = drafted([Planned(), LABOUR], by=by(ilse))
    data = DraftInput(discount=Decimal("0.1"), discount_reason="Club member")

    after = edit_draft(draft.pk, data, version=1, by=by(ilse))

    # by hand: 185.00 less 18.50 (6.50 and 12.00): 58.50 at 5 % and 7 %, 108.00 at 5 %
    assert (after.discount_minor, after.without_tax_minor) == (1_850, 16_650)
    assert after.tax_minor == 833 + 410
    assert issue_invoice(after.pk, by=by(ilse)).total_minor == 16_650 + 1_243


def test_added_fee_counts_towards_what_was_agreed_t34(ilse: Person, by: ByPerson) -> None:
    draft = drafted(by=by(ilse))
    fee = FeeInput(description="Lift", quantity=Decimal(1), unit_price=Decimal("0.01"))

    after = add_fee(draft.pk, fee, version=1, by=by(ilse))

    assert shown(after)[-1] == ("added", "Lift", 1)
    with pytest.raises(Refused, match=r"goes \$0.01 beyond what the customer agreed to \(\$65.00"):
        issue_invoice(after.pk, by=by(ilse))
    removed = leave_out(after.lines.get(origin="added").pk, version=2, by=by(ilse))
    assert issue_invoice(removed.pk, by=by(ilse)).number == "INV-00001"


def test_gift_does_not_count_against_what_was_agreed_t34(ilse: Person, by: ByPerson) -> None:
    draft = drafted(by=by(ilse))
    fee = FeeInput(description="Lift", quantity=Decimal(1), unit_price=Decimal(40))
    after = add_fee(draft.pk, fee, version=1, by=by(ilse))
    gift = LineChange(description="Lift", is_goodwill=True, note="our tide table was wrong")

    change_line(after.lines.get(origin="added").pk, gift, version=2, by=by(ilse))

    assert issue_invoice(draft.pk, by=by(ilse)).without_tax_minor == 6_500


def test_owner_bills_beyond_with_a_reason_t34(ilse: Person, maren: Person, by: ByPerson) -> None:
    draft = drafted(by=by(ilse))
    fee = FeeInput(description="Lift", quantity=Decimal(1), unit_price=Decimal(40))
    add_fee(draft.pk, fee, version=1, by=by(ilse))
    with pytest.raises(NotAllowed, match="Only the owner"):
        bill_beyond(draft.pk, "said so at the dock", version=2, by=by(ilse))
    with pytest.raises(BadInput):
        bill_beyond(draft.pk, "  ", version=2, by=by(maren))

    bill_beyond(draft.pk, "said so at the dock", version=2, by=by(maren))

    invoice = issue_invoice(draft.pk, by=by(ilse))
    assert (invoice.without_tax_minor, invoice.over_by, invoice.over_reason) == (
        10_500,
        maren,
        "said so at the dock",
    )


def test_owners_word_is_for_that_sum_only_t34(ilse: Person, maren: Person, by: ByPerson) -> None:
    draft = drafted(by=by(ilse))
    fee = FeeInput(description="Lift", quantity=Decimal(1), unit_price=Decimal(40))
    add_fee(draft.pk, fee, version=1, by=by(ilse))
    bill_beyond(draft.pk, "said so at the dock", version=2, by=by(maren))
    add_fee(draft.pk, replace(fee, unit_price=Decimal(400)), version=3, by=by(ilse))

    with pytest.raises(Refused, match="beyond what the customer agreed to"):
        issue_invoice(draft.pk, by=by(ilse))


@pytest.mark.parametrize(("price", "is_issued"), [("6.50", True), ("6.51", False)])
def test_share_that_local_rules_allow_is_exact_t34(
    price: str, is_issued: bool, ilse: Person, by: ByPerson
) -> None:
    Shop.objects.update(over_agreed_e4=1_000)
    draft = drafted(by=by(ilse))
    fee = FeeInput(description="Lift", quantity=Decimal(1), unit_price=Decimal(price))
    add_fee(draft.pk, fee, version=1, by=by(ilse))

    with contextlib.suppress(Refused):
        issue_invoice(draft.pk, by=by(ilse))

    assert (Invoice.objects.get().number is not None) == is_issued


def test_second_bill_counts_what_the_first_took_t34(ilse: Person, by: ByPerson) -> None:
    visit = WorkOrderFactory.create(stage=Stage.READY)
    finished_job([LABOUR], work_order=visit)
    issue_invoice(draft_invoice(visit.pk, by=by(ilse)).pk, by=by(ilse))
    finished_job(work_order=visit)
    draft = draft_invoice(visit.pk, by=by(ilse))
    fee = FeeInput(description="Lift", quantity=Decimal(1), unit_price=Decimal("0.01"))
    add_fee(draft.pk, fee, version=1, by=by(ilse))

    with pytest.raises(Refused, match=r"goes \$0.01 beyond"):
        issue_invoice(draft.pk, by=by(ilse))


def test_work_finished_since_stops_an_edited_draft_too(ilse: Person, by: ByPerson) -> None:
    draft = drafted([Planned(), LABOUR], by=by(ilse))
    leave_out(draft.lines.get(position=1).pk, version=1, by=by(ilse))
    finished_job([LABOUR], work_order=draft.work_order)
    with pytest.raises(Refused, match="has changed since this draft was made"):
        issue_invoice(draft.pk, by=by(ilse))

    keep_draft(draft.pk, version=2, by=by(ilse))

    assert issue_invoice(draft.pk, by=by(ilse)).without_tax_minor == 12_000


def test_drafting_again_loses_nothing_silently(ilse: Person, by: ByPerson) -> None:
    draft = drafted([Planned(), LABOUR], by=by(ilse))
    leave_out(draft.lines.get(position=1).pk, version=1, by=by(ilse))

    kept = draft_invoice(draft.work_order_id, by=by(ilse))
    assert len(shown(kept)) == 1

    anew = redraft_invoice(draft.pk, version=2, by=by(ilse))
    assert (anew.pk, len(shown(anew)), anew.without_tax_minor) == (draft.pk, 2, 18_500)


def test_discarded_draft_gives_its_rows_free(ilse: Person, by: ByPerson) -> None:
    draft = drafted(by=by(ilse))

    discard_draft(draft.pk, version=1, by=by(ilse))

    assert (Invoice.objects.count(), BilledSource.objects.count()) == (0, 0)
    assert Activity.objects.filter(verb="discard draft", record=f"invoice:{draft.pk}").count() == 1
    assert draft_invoice(draft.work_order_id, by=by(ilse)).without_tax_minor == 6_500


def test_issued_invoice_is_no_draft_any_more(ilse: Person, by: ByPerson) -> None:
    draft = drafted(by=by(ilse))
    line = draft.lines.get()
    issue_invoice(draft.pk, by=by(ilse))

    for deed in (
        lambda: leave_out(line.pk, version=1, by=by(ilse)),
        lambda: discard_draft(draft.pk, version=1, by=by(ilse)),
        lambda: keep_draft(draft.pk, version=1, by=by(ilse)),
    ):
        with pytest.raises(Refused, match="issued and never changes"):
            deed()


def test_technician_touches_no_draft(ilse: Person, tobiah: Person, by: ByPerson) -> None:
    draft = drafted(by=by(ilse))

    for deed in (leave_out, lambda pk, **k: change_line(pk, LineChange(description="x"), **k)):
        with pytest.raises(NotAllowed):
            deed(draft.lines.get().pk, version=1, by=by(tobiah))


def test_fee_of_the_intake_is_credited_when_the_repair_went_ahead(ilse: Person, by: ByPerson) -> None:
    job = finished_job()
    signed_intake(job.work_order, fee=8_000)

    draft = draft_invoice(job.work_order_id, by=by(ilse))

    assert shown(draft)[1:] == [
        ("fee", "Diagnosis fee", 8_000),
        ("fee_credit", "Diagnosis fee credited: the repair went ahead", -8_000),
    ]
    assert issue_invoice(draft.pk, by=by(ilse)).without_tax_minor == 6_500


def test_fee_is_charged_where_the_shop_never_credits_it(ilse: Person, by: ByPerson) -> None:
    Shop.objects.update(fee_credit="never")
    job = finished_job()
    signed_intake(job.work_order, fee=8_000)

    invoice = issue_invoice(draft_invoice(job.work_order_id, by=by(ilse)).pk, by=by(ilse))

    assert invoice.without_tax_minor == 14_500
    with pytest.raises(Refused, match="nothing to bill"):
        draft_invoice(job.work_order_id, by=by(ilse))


def test_declined_job_bills_fee_and_logged_work_within_the_limit(
    ilse: Person, tobiah: Person, by: ByPerson
) -> None:
    visit = WorkOrderFactory.create(stage=Stage.READY)
    job = JobFactory.create(work_order=visit, stage=Stage.READY, outcome=Outcome.DECLINED_IN_BOXES)
    signed_intake(visit, fee=8_000, limit=10_000)
    clocked(job, tobiah, 60, kind="diagnosis")
    clocked(job, tobiah, 45, kind="repair")
    logged(job, tobiah, "30", description="Gasket")

    draft = draft_invoice(visit.pk, by=by(ilse))

    # by hand: 45 minutes are 90.00, with the gasket 120.00: beyond the limit of 100.00, so one of them waits
    billed = shown(draft)
    assert ("fee", "Diagnosis fee", 8_000) in billed
    assert "Labour: diagnosis" not in [words for _, words, _ in billed]
    assert sum(amount for origin, _, amount in billed if origin == "actual") <= 10_000
    assert issue_invoice(draft.pk, by=by(ilse)).number == "INV-00001"


def test_who_pays_the_visit_gets_the_bill(ilse: Person, by: ByPerson) -> None:
    job, payer = finished_job(), CustomerFactory.create(name="Harbour Trust", payment_days=45)
    VisitPerson.objects.create(work_order=job.work_order, part="payer", customer=payer, name=payer.name)

    invoice = issue_invoice(draft_invoice(job.work_order_id, by=by(ilse)).pk, by=by(ilse))

    assert invoice.customer == payer
    assert (invoice.due_date - invoice.issue_date).days == 45


def test_purchase_order_is_asked_where_the_customer_needs_it(ilse: Person, by: ByPerson) -> None:
    draft = drafted(by=by(ilse))
    Customer.objects.update(needs_purchase_order=True)
    with pytest.raises(Refused, match="needs a purchase order number"):
        issue_invoice(draft.pk, by=by(ilse))

    edit_draft(draft.pk, DraftInput(purchase_order="PO 7"), version=1, by=by(ilse))

    assert issue_invoice(draft.pk, by=by(ilse)).purchase_order == "PO 7"
