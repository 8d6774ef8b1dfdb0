"""The customer takes the record of their answer home."""

from django.test import Client
from django.utils import timezone

from shopapp.models import Person
from tests.factories.quotes import answered, sent_quote
from tests.web.approvals.conftest import Visitor
from tests.web.pages import text_of


def test_answer_paper_follows_the_answer(visitor: Visitor) -> None:
    visitor.answers()

    response = visitor.browser.get("/approvals/answer-paper/")

    assert (response.status_code, response["Content-Type"]) == (200, "application/pdf")
    assert response["Referrer-Policy"] == "no-referrer"
    assert "/approvals/answer-paper/" in text_of(visitor.browser.get("/approvals/done/"))


def test_answer_paper_needs_the_own_answer(visitor: Visitor, ilse: Person) -> None:
    answered(sent_quote(ilse, at=timezone.now()), ilse, at=timezone.now())

    answers = [browser.get("/approvals/answer-paper/") for browser in (visitor.browser, Client())]

    assert [answer.status_code for answer in answers] == [404, 404]
