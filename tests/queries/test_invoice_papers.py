"""What an invoice shows: by job, by kind and by tax, exact and as people read it."""

from collections.abc import Callable

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shopapp.actions.actor import Actor
from shopapp.actions.invoices import draft_invoice, issue_invoice
from shopapp.documents.canonical import canonical
from shopapp.models import Invoice, Person, Shop, Stage
from shopapp.queries.invoice_papers import invoice_content
from tests.factories import WorkOrderFactory
from tests.factories.invoices import Planned, drafted, finished_job, issued

pytestmark = pytest.mark.django_db

ByPerson = Callable[[Person], Actor]
LABOUR = Planned(kind="labour", description="Fit it", number="", unit="h", unit_price_e4=1_200_000)


def test_content_keeps_jobs_of_one_title_apart(ilse: Person, by: ByPerson) -> None:
    visit = WorkOrderFactory.create(stage=Stage.READY)
    finished_job(work_order=visit, complaint="Port engine runs hot")
    finished_job([LABOUR, Planned()], work_order=visit, complaint="Starboard engine runs hot")
    invoice = issue_invoice(draft_invoice(visit.pk, by=by(ilse)).pk, by=by(ilse))

    jobs = invoice_content(invoice)["jobs"]

    assert [(job["complaint"], len(job["lines"])) for job in jobs] == [
        ("Port engine runs hot", 1),
        ("Starboard engine runs hot", 2),
    ]


def test_content_sums_parts_and_labour_apart(ilse: Person, by: ByPerson) -> None:
    kinds = invoice_content(issued([LABOUR, Planned(), Planned()], by=by(ilse)))["kinds"]

    assert [(kind["kind_shown"], kind["amount_minor"], kind["amount_shown"]) for kind in kinds] == [
        ("Part", 13_000, "$130.00"),
        ("Labour", 12_000, "$120.00"),
    ]


@pytest.mark.parametrize("is_taxed_within", [False, True])
def test_kinds_add_up_to_the_lines(is_taxed_within: bool, ilse: Person, by: ByPerson) -> None:
    Shop.objects.update(prices_include_tax=is_taxed_within)
    odd = Planned(quantity_milli=333, unit_price_e4=100_500, discount_e4=1_000)
    content = invoice_content(issued([LABOUR, odd, odd, odd], by=by(ilse)))

    kinds = {kind["kind"]: kind["amount_minor"] for kind in content["kinds"]}

    # by hand: 0.333 × 10.05 × 0.9 = 3.011985, rounded on each line; the sum unrounded would be 9.04
    assert kinds == {"part": 3 * 301, "labour": 12_000}


def test_content_names_rates_on_each_line(ilse: Person, by: ByPerson) -> None:
    lines = invoice_content(issued([LABOUR, Planned()], by=by(ilse)))["jobs"][0]["lines"]

    assert [line["tax_shown"] for line in lines] == ["5\u00a0%", "5\u00a0% + 7\u00a0%"]


@pytest.mark.parametrize(
    ("days", "sentence"),
    [
        (0, "Please pay today."),
        (1, "Please pay within 1 day, by 3 Jun 2026."),
        (30, "Please pay within 30 days, by 2 Jul 2026."),
    ],
)
def test_content_tells_when_to_pay(days: int, sentence: str, ilse: Person, by: ByPerson) -> None:
    Shop.objects.update(payment_days=days)

    assert invoice_content(issued(by=by(ilse)))["invoice"]["terms_shown"] == sentence


def test_content_holds_only_exact_values(ilse: Person, by: ByPerson) -> None:
    invoice = issued([LABOUR, Planned()], by=by(ilse))

    # canonical() refuses floats and decimals
    assert canonical(invoice_content(invoice)) == invoice.shown


def test_draft_without_days_shows_nothing(ilse: Person, by: ByPerson) -> None:
    with pytest.raises(ValueError, match="has no days yet"):
        invoice_content(drafted(by=by(ilse)))


def test_content_needs_the_same_queries_at_any_length(ilse: Person, by: ByPerson) -> None:
    counts = []
    for length in (1, 100):
        invoice = Invoice.objects.get(pk=issued([Planned()] * length, by=by(ilse)).pk)
        with CaptureQueriesContext(connection) as queries:
            content = invoice_content(invoice)
        counts.append((len(queries), len(content["jobs"][0]["lines"])))

    assert counts == [(10, 1), (10, 100)]
