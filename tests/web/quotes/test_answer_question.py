"""The desk answers a customer's question beside the sent quote."""

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.actions.questions import ask_question
from shopapp.models import Person, Question, QuoteRevision
from tests.factories.quotes import behind, opened_link
from tests.web.pages import fresh_key, text_of


@pytest.fixture
def question(sent: QuoteRevision, ilse: Person) -> Question:
    link, _ = opened_link(sent, ilse, at=timezone.now())
    return ask_question(sent.pk, "Is it safe to run?", by=behind(link, at=timezone.now()))


def test_answer_question_stands_on_the_preview(front_desk: Client, question: Question, ilse: Person) -> None:
    preview = f"/quotes/{question.revision_id}/preview/"
    assert "Is it safe to run?" in text_of(front_desk.get(preview))

    response = front_desk.post(
        f"/quotes/question/{question.pk}/answer-question/",
        fresh_key() | {"answer": "Not until it is mended.", "version": "1"},
    )

    question.refresh_from_db()
    assert (response.status_code, response["Location"]) == (302, f"{preview}#quote-questions")
    assert (question.answer, question.answered_by) == ("Not until it is mended.", ilse)
    assert "Not until it is mended." in text_of(front_desk.get(preview))


@pytest.mark.parametrize(
    "typed", [{"answer": "", "version": "1"}, {"answer": "x" * 1001, "version": "1"}, {"answer": "No."}]
)
def test_answer_question_refuses_what_is_no_answer(
    front_desk: Client, question: Question, typed: dict[str, str]
) -> None:
    response = front_desk.post(f"/quotes/question/{question.pk}/answer-question/", fresh_key() | typed)

    question.refresh_from_db()
    assert (response.status_code, question.answer) == (409, "")


def test_answer_question_tells_of_another_answer(front_desk: Client, question: Question) -> None:
    address = f"/quotes/question/{question.pk}/answer-question/"
    front_desk.post(address, fresh_key() | {"answer": "No.", "version": "1"})

    second = front_desk.post(address, fresh_key() | {"answer": "Yes.", "version": "1"})

    question.refresh_from_db()
    assert (second.status_code, question.answer) == (409, "No.")


def test_answer_question_is_not_the_technicians(bench: Client, question: Question) -> None:
    typed = fresh_key() | {"answer": "No.", "version": "1"}

    assert bench.post(f"/quotes/question/{question.pk}/answer-question/", typed).status_code == 403
