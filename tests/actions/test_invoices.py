"""Invoices are drawn up from approved work, issued once, numbered without gaps, and frozen."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import DatabaseError, OperationalError, transaction

from shopapp.actions.activity import first_bad_link
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.invoices import draft_invoice, issue_invoice
from shopapp.actions.quotes import add_line, edit_option, send_quote, start_quote
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.documents.canonical import canonical, digest
from shopapp.models import (
    Activity,
    Customer,
    Invoice,
    InvoiceLine,
    InvoiceTax,
    JobTest,
    NumberSeries,
    Outcome,
    PartUsed,
    Person,
    SearchText,
    Shop,
    Stage,
    TaxRate,
    Way,
)
from shopapp.queries.invoice_papers import invoice_content
from tests.factories import JobFactory, WorkOrderFactory
from tests.factories.invoices import Planned, drafted, finished_job, issued
from tests.factories.jobs import job_at
from tests.factories.quotes import LABOUR as DIAGNOSIS
from tests.factories.quotes import SEALS, answered
from tests.full_disk import disk_full_at_write
from tests.side_by_side import outcomes

pytestmark = pytest.mark.django_db

LABOUR = Planned(kind="labour", description="Fit it", number="", unit="h", unit_price_e4=1_200_000)
ByPerson = Callable[[Person], Actor]


def lines_of(invoice: Invoice) -> list[tuple[str, int, int]]:
    return list(
        invoice.lines.order_by("position").values_list("description", "quantity_milli", "amount_minor")
    )


def later(actor: Actor, **ahead: int) -> Actor:
    return replace(actor, at=actor.at + timedelta(**ahead))


def test_draft_copies_the_approved_customer_lines(ilse: Person, by: ByPerson) -> None:
    goodwill = Planned(description="Gasket", payer="shop")
    oil = Planned(kind="fluid", description="Oil", quantity_milli=750, unit="L", unit_price_e4=284_500)
    job = finished_job([LABOUR, goodwill, replace(oil, discount_e4=1_000)])

    draft = draft_invoice(job.work_order_id, by=by(ilse))

    # by hand: 1 × 120.00; 0.75 × 28.45 × 0.9 = 19.20375
    assert lines_of(draft) == [("Fit it", 1_000, 12_000), ("Oil", 750, 1_920)]
    assert draft.number is None
    assert [line.plan_line.description for line in draft.lines.order_by("position")] == ["Fit it", "Oil"]


def test_draft_previews_tax_by_code_and_rate(ilse: Person, by: ByPerson) -> None:
    draft = drafted([Planned(), LABOUR], by=by(ilse))

    # by hand: 65.00 of goods at 5 % and 7 %, 120.00 of labour at 5 %
    assert (draft.without_tax_minor, draft.tax_minor, draft.total_minor) == (18_500, 925 + 455, 19_880)
    rows = draft.taxes.order_by("pk").values_list("name", "rate_e6", "taxable_minor", "tax_minor")
    assert list(rows) == [("Federal", 50_000, 18_500, 925), ("Provincial", 70_000, 6_500, 455)]


@pytest.mark.parametrize(
    ("stage", "outcome", "is_billed"),
    [
        (Stage.IN_LINE, Outcome.OPEN, False),
        (Stage.IN_HAND, Outcome.OPEN, False),
        (Stage.TEST, Outcome.OPEN, False),
        (Stage.READY, Outcome.DONE, True),
        (Stage.GONE, Outcome.DONE, True),
        (Stage.CANCELLED, Outcome.OPEN, False),
    ],
)
def test_draft_bills_work_that_is_done(
    stage: str, outcome: str, is_billed: bool, ilse: Person, by: ByPerson
) -> None:
    job = finished_job(stage=stage, outcome=outcome)

    try:
        count = draft_invoice(job.work_order_id, by=by(ilse)).lines.count()
    except Refused:
        count = 0

    assert count == int(is_billed)


def test_draft_bills_what_leaving_it_costs(ilse: Person, by: ByPerson) -> None:
    job = job_at(Stage.DIAGNOSIS)
    revision = start_quote(job.work_order_id, by=by(ilse))
    option = revision.choices.get().options.get()
    leave = replace(SEALS, way=Way.LEAVE, title="Leave it, put it together")
    edit_option(option.pk, leave, version=1, by=by(ilse))
    add_line(option.pk, DIAGNOSIS, by=by(ilse))
    approval = answered(send_quote(revision.pk, version=1, by=by(ilse)), ilse, at=by(ilse).at)

    draft = draft_invoice(job.work_order_id, by=by(ilse))

    job.refresh_from_db()
    assert (job.stage, job.outcome) == (Stage.READY, Outcome.DECLINED)
    # by hand: 2.5 h at 120.00 and 5 %; it is what was signed for
    assert (draft.without_tax_minor, draft.total_minor) == (30_000, 31_500)
    assert approval.with_tax_minor == draft.total_minor


def test_draft_bills_nothing_of_not_now(ilse: Person, by: ByPerson, now: datetime) -> None:
    job = job_at(Stage.DIAGNOSIS)
    revision = start_quote(job.work_order_id, by=by(ilse))
    choice = revision.choices.get()
    edit_option(choice.options.get().pk, SEALS, version=1, by=by(ilse))
    add_line(choice.options.get().pk, DIAGNOSIS, by=by(ilse))
    answered(send_quote(revision.pk, version=1, by=by(ilse)), ilse, at=now, chosen={choice.pk: None})

    with pytest.raises(Refused, match="There is nothing to bill"):
        draft_invoice(job.work_order_id, by=by(ilse))


def test_draft_without_approval_is_refused(ilse: Person, by: ByPerson) -> None:
    job = JobFactory.create(stage=Stage.READY, outcome=Outcome.DONE)

    with pytest.raises(Refused, match="There is nothing to bill"):
        draft_invoice(job.work_order_id, by=by(ilse))

    assert (Invoice.objects.count(), Activity.objects.count()) == (0, 0)


def test_draft_sent_twice_is_one_draft(ilse: Person, by: ByPerson) -> None:
    job = finished_job()

    first = draft_invoice(job.work_order_id, by=by(ilse))
    second = draft_invoice(job.work_order_id, by=by(ilse))

    assert first == second
    assert (Invoice.objects.count(), InvoiceLine.objects.count(), Activity.objects.count()) == (1, 1, 1)


def test_draft_takes_up_work_finished_since(ilse: Person, by: ByPerson) -> None:
    visit = WorkOrderFactory.create(stage=Stage.READY)
    finished_job(work_order=visit)
    first = draft_invoice(visit.pk, by=by(ilse))
    finished_job([LABOUR], work_order=visit)

    second = draft_invoice(visit.pk, by=by(ilse))

    assert first == second
    assert lines_of(second) == [("Gasket set", 1_000, 6_500), ("Fit it", 1_000, 12_000)]


def test_planned_line_is_billed_once(ilse: Person, by: ByPerson) -> None:
    visit = WorkOrderFactory.create(stage=Stage.READY)
    finished_job(work_order=visit)
    issue_invoice(draft_invoice(visit.pk, by=by(ilse)).pk, by=by(ilse))
    with pytest.raises(Refused, match="There is nothing to bill"):
        draft_invoice(visit.pk, by=by(ilse))
    finished_job([LABOUR], work_order=visit)

    second = draft_invoice(visit.pk, by=by(ilse))

    assert lines_of(second) == [("Fit it", 1_000, 12_000)]


def test_technician_may_not_draft_invoices(tobiah: Person, by: ByPerson) -> None:
    job = finished_job()

    with pytest.raises(NotAllowed, match="Only the front desk and the owner"):
        draft_invoice(job.work_order_id, by=by(tobiah))


def test_technician_may_not_issue_invoices(ilse: Person, tobiah: Person, by: ByPerson) -> None:
    draft = drafted(by=by(ilse))

    with pytest.raises(NotAllowed, match="Only the front desk and the owner"):
        issue_invoice(draft.pk, by=by(tobiah))


def test_customer_link_may_not_issue(ilse: Person, by: ByPerson) -> None:
    draft = drafted(by=by(ilse))

    with pytest.raises(NotAllowed, match="Only the front desk and the owner"):
        issue_invoice(draft.pk, by=Actor(scope=Scope.LINK, at=by(ilse).at))


def test_issue_gives_number_days_and_seal(ilse: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))

    assert (invoice.number, invoice.issued_at) == ("INV-00001", by(ilse).at)
    # 17:30 UTC is the morning of the same day in Vancouver; payment within 14 days
    assert (invoice.issue_date, invoice.due_date) == (date(2026, 6, 2), date(2026, 6, 16))
    assert digest(invoice.shown) == invoice.shown_sha256
    assert json.loads(invoice.shown)["totals"]["total_minor"] == 7_280


def test_issue_twice_gives_the_same_invoice(ilse: Person, by: ByPerson) -> None:
    draft = drafted(by=by(ilse))

    first = issue_invoice(draft.pk, by=by(ilse))
    second = issue_invoice(draft.pk, by=later(by(ilse), hours=1))

    assert (first.number, first.issued_at) == (second.number, second.issued_at)
    assert NumberSeries.objects.get(code="invoice").next_value == 2
    assert Activity.objects.filter(verb="issue invoice").count() == 1


@pytest.mark.django_db(transaction=True)
def test_two_who_issue_at_once_get_one_invoice(ilse: Person, maren: Person, by: ByPerson) -> None:
    draft = drafted(by=by(ilse))

    found = outcomes([lambda who=who: issue_invoice(draft.pk, by=by(who)).number for who in (ilse, maren)])

    assert found == ["INV-00001", "INV-00001"]
    assert NumberSeries.objects.get(code="invoice").next_value == 2


@pytest.mark.django_db(transaction=True)
def test_two_who_draft_at_once_get_one_draft(ilse: Person, maren: Person, by: ByPerson) -> None:
    visit = finished_job().work_order_id

    found = outcomes([lambda who=who: draft_invoice(visit, by=by(who)).pk for who in (ilse, maren)])

    assert found == [Invoice.objects.get().pk] * 2


def test_issue_uses_the_day_of_last_work(ilse: Person, tobiah: Person, by: ByPerson) -> None:
    job = finished_job()
    # 2026-05-30 06:30 UTC is still the 29th in Vancouver
    moment = datetime(2026, 5, 30, 6, 30, tzinfo=UTC)
    for hours in (0, 48):
        PartUsed.objects.create(
            job=job,
            description="Gasket set",
            quantity_milli=1_000,
            logged_by=tobiah,
            happened_at=moment - timedelta(hours=hours),
            recorded_at=moment,
        )

    invoice = issue_invoice(draft_invoice(job.work_order_id, by=by(ilse)).pk, by=by(ilse))

    assert (invoice.tax_date, invoice.issue_date) == (date(2026, 5, 29), date(2026, 6, 2))


def test_test_run_is_work_too(ilse: Person, tobiah: Person, by: ByPerson) -> None:
    job = finished_job()
    moment = datetime(2026, 5, 28, 20, 0, tzinfo=UTC)
    PartUsed.objects.create(
        job=job, description="x", quantity_milli=1, logged_by=tobiah, happened_at=moment, recorded_at=moment
    )
    JobTest.objects.create(
        job=job, kind="water", has_passed=True, tested_by=tobiah, tested_at=moment + timedelta(days=1)
    )

    invoice = issue_invoice(draft_invoice(job.work_order_id, by=by(ilse)).pk, by=by(ilse))

    assert invoice.tax_date == date(2026, 5, 29)


def test_issue_takes_tax_in_force_on_tax_date(ilse: Person, tobiah: Person, by: ByPerson) -> None:
    TaxRate.objects.filter(name="Provincial").update(valid_until_date=date(2026, 6, 1))
    old = TaxRate.objects.get(name="Provincial")
    TaxRate.objects.create(
        tax_code=old.tax_code, name="Provincial", rate_e6=80_000, position=2, valid_from_date=date(2026, 6, 1)
    )
    job = finished_job()
    worked = datetime(2026, 5, 29, 20, 0, tzinfo=UTC)
    PartUsed.objects.create(
        job=job, description="x", quantity_milli=1, logged_by=tobiah, happened_at=worked, recorded_at=worked
    )
    draft = draft_invoice(job.work_order_id, by=by(ilse))

    invoice = issue_invoice(draft.pk, by=by(ilse))

    # the work was done under 7 %: 4.55, not under today's 8 %: 5.20; the draft says so already
    assert (draft.tax_minor, invoice.tax_minor) == (325 + 455, 325 + 455)


def test_issue_for_exempt_customer_keeps_the_reason(ilse: Person, by: ByPerson) -> None:
    job = finished_job([Planned(), LABOUR])
    customer = job.work_order.customer
    customer.is_tax_exempt, customer.exemption_number, customer.exemption_reason = True, "X-77", "Coast guard"
    customer.save()

    invoice = issue_invoice(draft_invoice(job.work_order_id, by=by(ilse)).pk, by=by(ilse))

    assert (invoice.without_tax_minor, invoice.tax_minor, invoice.total_minor) == (18_500, 0, 18_500)
    rows = invoice.taxes.values_list("category", "taxable_minor", "tax_minor", "exemption_reason")
    assert list(rows) == [("E", 18_500, 0, "Coast guard X-77")]
    buyer = json.loads(invoice.shown)["buyer"]
    assert (buyer["exemption_reason"], buyer["exemption_number"]) == ("Coast guard", "X-77")


def test_issue_after_more_was_finished_is_refused(ilse: Person, by: ByPerson) -> None:
    draft = drafted(by=by(ilse))
    finished_job([LABOUR], work_order=draft.work_order)

    with pytest.raises(Refused, match="has changed since this draft was made"):
        issue_invoice(draft.pk, by=by(ilse))


def test_issue_is_found_and_remembered(ilse: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))

    words = SearchText.objects.get(kind="invoice", record_id=invoice.pk).words
    assert words.startswith("inv 00001 inv00001")
    entry = Activity.objects.get(verb="issue invoice")
    assert (entry.record, entry.work_order_id) == (f"invoice:{invoice.pk}", invoice.work_order_id)
    assert json.loads(entry.payload or "") == {
        "number": "INV-00001",
        "shown_sha256": invoice.shown_sha256,
        "total_minor": 7_280,
        "without_tax_minor": 6_500,
    }


def test_issued_invoice_never_changes(ilse: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))

    for change in (
        lambda: Invoice.objects.filter(pk=invoice.pk).update(total_minor=1, without_tax_minor=1, tax_minor=0),
        lambda: invoice.lines.update(amount_minor=1),
        lambda: invoice.taxes.all().delete(),
        lambda: Invoice.objects.filter(pk=invoice.pk).delete(),
    ):
        with pytest.raises(DatabaseError), transaction.atomic():
            change()

    assert Invoice.objects.get(pk=invoice.pk).total_minor == 7_280


def test_issued_content_is_rebuilt_from_rows(ilse: Person, by: ByPerson) -> None:
    invoice = issued([Planned(), LABOUR], by=by(ilse))

    rebuilt = canonical(invoice_content(Invoice.objects.get(pk=invoice.pk)))

    assert digest(rebuilt) == invoice.shown_sha256


def test_issued_content_stays_when_names_change(ilse: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))
    name = invoice.customer.name
    Shop.objects.update(name="Another shop")
    Customer.objects.update(name="Another customer")

    kept = json.loads(Invoice.objects.get(pk=invoice.pk).shown)

    assert (kept["shop"]["name"], kept["buyer"]["name"]) == ("Heron Inlet Outboards", name)


def test_clock_set_back_keeps_the_sequences_t28(ilse: Person, by: ByPerson) -> None:
    first = issued(by=by(ilse))
    draft = drafted(by=by(ilse))

    second = issue_invoice(draft.pk, by=later(by(ilse), days=-1))

    assert (first.number, second.number) == ("INV-00001", "INV-00002")
    entries = Activity.objects.order_by("seq")
    assert [entry.seq for entry in entries] == [1, 2, 3, 4]
    warned = [json.loads(entry.payload or "").get("clock_went_back", False) for entry in entries]
    assert warned == [False, False, False, True]
    assert first_bad_link() is None


def test_disk_full_while_issuing_leaves_the_draft_t24(ilse: Person, by: ByPerson) -> None:
    issued(by=by(ilse))
    draft = drafted(by=by(ilse))
    before = Activity.objects.count()
    failed_at = 0

    while not Invoice.objects.get(pk=draft.pk).number:
        failed_at += 1
        with disk_full_at_write(failed_at) as writes:
            try:
                issue_invoice(draft.pk, by=by(ilse))
            except OperationalError:
                left = Invoice.objects.get(pk=draft.pk)
                assert (left.number, left.shown, left.lines.count(), left.taxes.count()) == (None, "", 1, 2)
                assert NumberSeries.objects.get(code="invoice").next_value == 2
                assert (Activity.objects.count(), SearchText.objects.filter(kind="invoice").count()) == (
                    before,
                    1,
                )

    assert failed_at == len(writes) + 1 > 5
    assert Invoice.objects.get(pk=draft.pk).number == "INV-00002"
    assert InvoiceTax.objects.filter(invoice=draft).count() == 2
