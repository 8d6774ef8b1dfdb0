"""T34 from end to end: work beyond what is agreed is not billed until the customer's yes is written down."""

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from shopapp.actions import spoken_answers
from shopapp.actions.actor import Actor
from shopapp.actions.actuals import UsePartInput, use_part
from shopapp.actions.corrections import PriceInput, link_row, price_row
from shopapp.actions.invoice_drafts import FeeInput, add_fee
from shopapp.actions.invoices import draft_invoice, issue_invoice
from shopapp.actions.job_tests import RecordTestInput, record_test
from shopapp.actions.jobs import finish_work, start_work
from shopapp.actions.refusals import Refused
from shopapp.actions.spoken_answers import SpokenInput
from shopapp.calc.errors import BadInput
from shopapp.models import AnswerHow, Invoice, Job, PartUsed, Person, QuoteLine, QuoteRevision
from shopapp.queries.approvals import authorised
from shopapp.queries.over_agreed import held_back
from tests.factories import JobFactory
from tests.factories.quotes import answered, desk, first_options, sent_quote, sent_supplement

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)
SIX_FACTS: Mapping[str, object] = {
    "how": AnswerHow.PHONE,
    "is_declined": False,
    "spoken_with": "Aud Nilsen",
    "number": "604 555 0199",
    "extra_work": "Two more seals, found when the shaft was out",
}


@pytest.fixture
def job(ilse: Person, now: datetime) -> Job:
    """Agreed at a fixed price of 354.80, and in hand; two seals for 36.80 went in that nobody agreed to."""
    job = JobFactory()
    answered(sent_quote(ilse, at=now, work_order=job.work_order), ilse, at=now)
    by = desk(ilse, at=now + HOUR)
    start_work(job.pk, by=by)
    row = use_part(job.pk, UsePartInput(description="Shaft seal", quantity=Decimal(2)), by=by)
    price_row(("part_used", row.pk), PriceInput(unit_price=Decimal("18.40")), by=by)
    return job


@pytest.fixture
def extra(job: Job, ilse: Person, now: datetime) -> QuoteRevision:
    """The same two seals, asked for by a supplement."""
    return sent_supplement(job, ilse, at=now + HOUR)


def told(extra: QuoteRevision, **changes: object) -> SpokenInput:
    facts = {"chosen": first_options(extra), "spoken_at": extra.sent_at} | SIX_FACTS | changes
    return SpokenInput(**facts)


def seals() -> set[tuple[str, int]]:
    return {("part_used", row.pk) for row in PartUsed.objects.all()}


def drafted(job: Job, *, by: Actor) -> Invoice:
    """Finished, proved, and drawn up."""
    finish_work(job.pk, by=by)
    record_test(job.pk, RecordTestInput(has_passed=True, conditions="Calm", remarks="No leak"), by=by)
    return draft_invoice(job.work_order_id, by=by)


def test_work_beyond_what_is_agreed_is_not_billed_t34(job: Job, ilse: Person, now: datetime) -> None:
    by = desk(ilse, at=now + 2 * HOUR)

    draft = drafted(job, by=by)

    assert held_back(job.work_order) == seals()
    assert (draft.without_tax_minor, authorised(job.work_order).total_minor) == (35_480, 35_480)
    # nor by the back door, as a line written by hand
    by_hand = FeeInput(description="Shaft seals", quantity=Decimal(2), unit_price=Decimal("18.40"))
    add_fee(draft.pk, by_hand, version=draft.version, by=by)
    with pytest.raises(Refused, match=r"goes \$36.80 beyond what the customer agreed to \(\$354.80"):
        issue_invoice(draft.pk, by=by)
    assert Invoice.objects.get().number is None


@pytest.mark.parametrize(
    ("missing", "field"),
    [
        ({"spoken_with": " "}, "spoken_with"),
        ({"number": ""}, "number"),
        ({"spoken_at": datetime(2026, 6, 1, tzinfo=UTC)}, "spoken_at"),
    ],
)
def test_yes_without_one_of_its_facts_frees_nothing_t34(
    job: Job, extra: QuoteRevision, ilse: Person, now: datetime, missing: dict[str, object], field: str
) -> None:
    by = desk(ilse, at=now + 2 * HOUR)

    with pytest.raises(BadInput) as refusal:
        spoken_answers.record_spoken(extra.pk, told(extra, **missing), by=by)

    assert (refusal.value.field, held_back(job.work_order)) == (field, seals())
    assert drafted(job, by=by).without_tax_minor == 35_480


def test_yes_with_its_six_facts_may_be_billed_t34(
    job: Job, extra: QuoteRevision, ilse: Person, now: datetime
) -> None:
    by = desk(ilse, at=now + 2 * HOUR)

    approval = spoken_answers.record_spoken(extra.pk, told(extra), by=by)

    line = QuoteLine.objects.get(option__choice__revision=extra)
    link_row(seals().pop(), line=line.pk, by=by)
    invoice = issue_invoice(drafted(job, by=by).pk, by=by)
    assert (held_back(job.work_order), invoice.without_tax_minor) == (frozenset(), 39_160)
    # who, when, which number, what work, how much more, and what it comes to then
    approval.refresh_from_db()
    assert (approval.signed_name, approval.decided_at, approval.called_number) == (
        "Aud Nilsen",
        extra.sent_at,
        "604 555 0199",
    )
    assert (approval.extra_work, approval.extra_minor, approval.new_total_minor) == (
        SIX_FACTS["extra_work"],
        3_680,
        39_160,
    )
