"""Credit note and receipt on paper: what they say, one page on either paper, no colour, the same bytes."""

import io
from collections.abc import Callable
from decimal import Decimal

import pytest
from pypdf import PdfReader

from shopapp.actions.actor import Actor
from shopapp.actions.credit_notes import credit_invoice
from shopapp.actions.invoices import draft_invoice, issue_invoice
from shopapp.actions.payments import PaymentInput, take_deposit
from shopapp.documents.invoices import invoice_html, invoice_pdf
from shopapp.documents.receipts import receipt_html, receipt_pdf
from shopapp.documents.renderer import render_pdf
from shopapp.models import Payment, Person, Shop, StoredPaper
from shopapp.queries.invoice_papers import invoice_content
from shopapp.queries.receipts import receipt_content
from tests.factories.invoices import finished_job, issued, paid

pytestmark = pytest.mark.django_db

ByPerson = Callable[[Person], Actor]
SIZES = {"a4": (595, 842), "letter": (612, 792)}


def text_of(pdf: bytes) -> str:
    pages = PdfReader(io.BytesIO(pdf)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).replace("\u00a0", " ").split())


def size_of(pdf: bytes) -> tuple[int, int]:
    page = PdfReader(io.BytesIO(pdf)).pages[0]
    return round(page.mediabox.width), round(page.mediabox.height)


@pytest.mark.parametrize("paper", list(SIZES))
def test_credit_note_names_what_it_takes_back_and_why(paper: str, ilse: Person, by: ByPerson) -> None:
    Shop.objects.update(paper=paper)
    invoice = issued(by=by(ilse))
    note = credit_invoice(invoice.pk, "The wrong name stands on it.", by=by(ilse))

    pdf = invoice_pdf(note)

    text = text_of(pdf)
    for words in (
        "Credit note",
        "CN-00001",
        "Takes back invoice INV-00001 of 2 Jun 2026 as a whole.",
        "The wrong name stands on it.",
        "Credited $72.80",
    ):
        assert words in text
    assert [words for words in ("To be paid by", "To pay", "Please name") if words in text] == []
    assert (size_of(pdf), len(PdfReader(io.BytesIO(pdf)).pages)) == (SIZES[paper], 1)
    assert StoredPaper.objects.get(content_sha256=note.shown_sha256).document == "credit_note"
    assert invoice_pdf(note) == pdf


@pytest.mark.parametrize("paper", list(SIZES))
def test_receipt_says_who_paid_what_for_what(paper: str, ilse: Person, by: ByPerson) -> None:
    Shop.objects.update(paper=paper)
    invoice = issued(by=by(ilse))
    payment = paid(invoice, "20.00", by=by(ilse))

    pdf = receipt_pdf(payment)

    text = text_of(pdf)
    for words in ("Receipt", "R-00001", "$20.00", "card", "Invoice INV-00001", invoice.customer.name):
        assert words in text
    assert (size_of(pdf), len(PdfReader(io.BytesIO(pdf)).pages)) == (SIZES[paper], 1)
    assert StoredPaper.objects.get().document == "receipt"
    assert receipt_pdf(Payment.objects.get(pk=payment.pk)) == pdf


def test_receipt_of_a_deposit_says_that_it_is_no_bill(ilse: Person, by: ByPerson) -> None:
    data = PaymentInput(amount=Decimal(20), method="cash", note="at arrival")
    payment = take_deposit(finished_job().work_order_id, data, by=by(ilse))

    html = receipt_html(receipt_content(payment))

    assert "A deposit is not a bill and holds no tax." in html
    assert "at arrival" in html


def test_same_content_gives_the_same_bytes(ilse: Person, by: ByPerson) -> None:
    payment = take_deposit(
        finished_job().work_order_id, PaymentInput(amount=Decimal(20), method="cash"), by=by(ilse)
    )

    made = {render_pdf(receipt_html(receipt_content(payment))) for _ in range(2)}

    assert len(made) == 1


def test_deposit_is_taken_off_on_paper(ilse: Person, by: ByPerson) -> None:
    job = finished_job()
    take_deposit(job.work_order_id, PaymentInput(amount=Decimal(20), method="cash"), by=by(ilse))
    invoice = issue_invoice(draft_invoice(job.work_order_id, by=by(ilse)).pk, by=by(ilse))

    content = invoice_content(invoice)

    totals = content["totals"]
    assert [totals[f"{name}_minor"] for name in ("total", "paid", "due")] == [7_280, 2_000, 5_280]
    assert "$52.80" in invoice_html(content)
