"""The customer's copy as PDF."""

import io

import pytest
from django.test import Client
from django.utils import timezone
from pypdf import PdfReader

from shopapp.actions import quotes
from shopapp.models import Person
from tests.factories.quotes import desk
from tests.web.approvals.conftest import Visitor

pytestmark = pytest.mark.django_db(transaction=True)


def words_of(pdf: bytes) -> str:
    return " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


def test_paper_before_the_answer_is_to_sign(visitor: Visitor) -> None:
    response = visitor.browser.get("/approvals/paper/")

    assert response["Content-Type"] == "application/pdf"
    assert "Name and signature" in words_of(response.content)


def test_paper_after_the_answer_shows_it(visitor: Visitor) -> None:
    visitor.answers()

    words = words_of(visitor.browser.get("/approvals/paper/").content)

    assert "Agreed, with tax" in words
    assert "Name and signature" not in words


def test_paper_of_replaced_is_not_there(visitor: Visitor, ilse: Person) -> None:
    new = quotes.revise_quote(visitor.revision.pk, by=desk(ilse, at=timezone.now()))
    quotes.send_quote(new.pk, version=1, by=desk(ilse, at=timezone.now()))

    assert visitor.browser.get("/approvals/paper/").status_code == 404


def test_paper_needs_a_door(visitor: Visitor) -> None:
    assert Client().get("/approvals/paper/").status_code == 404
