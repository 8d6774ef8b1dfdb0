"""The desk prints the record of an answer."""

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.documents.renderer import RenderFailed
from shopapp.models import Person, QuoteRevision
from shopapp.web.quotes import views_answers
from tests.factories.quotes import answered
from tests.web.pages import text_of


def test_answer_paper_is_a_pdf(front_desk: Client, sent: QuoteRevision, ilse: Person) -> None:
    answered(sent, ilse, at=timezone.now())

    response = front_desk.get(f"/quotes/{sent.pk}/answer-paper/")

    assert (response.status_code, response["Content-Type"]) == (200, "application/pdf")
    assert response["Content-Disposition"] == f'inline; filename="{sent.quote.number}-1-answer.pdf"'
    assert response.content[:5] == b"%PDF-"


def test_answer_paper_is_found_from_the_preview(
    front_desk: Client, sent: QuoteRevision, ilse: Person
) -> None:
    address = f"/quotes/{sent.pk}/answer-paper/"
    before = text_of(front_desk.get(f"/quotes/{sent.pk}/preview/"))
    answered(sent, ilse, at=timezone.now())

    after = text_of(front_desk.get(f"/quotes/{sent.pk}/preview/"))

    assert (address in before, address in after) == (False, True)


def test_answer_paper_needs_an_answer(front_desk: Client, sent: QuoteRevision) -> None:
    assert front_desk.get(f"/quotes/{sent.pk}/answer-paper/").status_code == 404


def test_answer_paper_that_fails_says_why(
    front_desk: Client, sent: QuoteRevision, ilse: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    answered(sent, ilse, at=timezone.now())

    def fails(_revision: QuoteRevision) -> bytes:
        raise RenderFailed("No room on the disk.")

    monkeypatch.setattr(views_answers, "approval_pdf", fails)

    response = front_desk.get(f"/quotes/{sent.pk}/answer-paper/")

    assert (response.status_code, "No room on the disk." in text_of(response)) == (409, True)


def test_answer_paper_is_not_the_technicians(bench: Client, sent: QuoteRevision) -> None:
    assert bench.get(f"/quotes/{sent.pk}/answer-paper/").status_code == 403
