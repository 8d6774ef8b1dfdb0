"""The customer asks on their page; the answer stands there; nothing is decided."""

from django.test import Client
from django.utils import timezone

from shopapp.actions.questions import answer_question, ask_question
from shopapp.models import Approval, Person, Question
from tests.factories.quotes import answered, behind, desk
from tests.web.approvals.conftest import Visitor
from tests.web.pages import fresh_key, text_of


def test_ask_keeps_the_question_and_comes_back(visitor: Visitor) -> None:
    response = visitor.browser.post("/approvals/ask/", fresh_key() | {"text": "Is it safe to run?"})

    assert (response.status_code, response["Location"]) == (302, "/approvals/decide/#quote-questions")
    assert (Question.objects.get().text, Approval.objects.count()) == ("Is it safe to run?", 0)
    assert "Is it safe to run?" in text_of(visitor.browser.get("/approvals/decide/"))


def test_ask_twice_with_one_key_is_one_question(visitor: Visitor) -> None:
    sent = fresh_key() | {"text": "Is it safe to run?"}

    for _ in range(2):
        visitor.browser.post("/approvals/ask/", sent)

    assert Question.objects.count() == 1


def test_ask_answers_htmx_in_place(visitor: Visitor) -> None:
    response = visitor.browser.post(
        "/approvals/ask/", fresh_key() | {"text": "<b>Safe?</b>"}, headers={"HX-Request": "true"}
    )

    page = text_of(response)
    assert (response.status_code, "<html" in page) == (200, False)
    assert 'id="quote-questions"' in page
    assert "&lt;b&gt;Safe?&lt;/b&gt;" in page


def test_ask_nothing_says_so_in_place(visitor: Visitor) -> None:
    response = visitor.browser.post(
        "/approvals/ask/", fresh_key() | {"text": " "}, headers={"HX-Request": "true"}
    )

    assert response.status_code == 422
    assert "Your question is missing. Please fill it in." in text_of(response)


def test_ask_nothing_without_script_leads_back(visitor: Visitor) -> None:
    response = visitor.browser.post("/approvals/ask/", fresh_key() | {"text": ""})

    assert (response.status_code, Question.objects.count()) == (422, 0)
    assert 'href="/approvals/decide/"' in text_of(response)


def test_ask_too_late_keeps_the_words(visitor: Visitor, ilse: Person) -> None:
    answered(visitor.revision, ilse, at=timezone.now())
    visitor.browser.get(f"/approvals/enter/{visitor.token}/")

    response = visitor.browser.post(
        "/approvals/ask/", fresh_key() | {"text": "Hello?"}, headers={"HX-Request": "true"}
    )

    # the link was replaced when somebody else was handed the tablet
    assert response.status_code == 404


def test_answer_stands_on_the_customers_page(visitor: Visitor, ilse: Person) -> None:
    question = ask_question(visitor.revision.pk, "Safe?", by=behind(visitor.link, at=timezone.now()))

    before = text_of(visitor.browser.get("/approvals/decide/"))
    answer_question(question.pk, "Not until mended.", version=1, by=desk(ilse, at=timezone.now()))
    after = text_of(visitor.browser.get("/approvals/decide/"))

    assert ("The shop has your question." in before, "Not until mended." in after) == (True, True)


def test_ask_needs_the_door(visitor: Visitor) -> None:
    assert Client().post("/approvals/ask/", fresh_key() | {"text": "Hello?"}).status_code == 404
    assert visitor.browser.get("/approvals/ask/").status_code == 405
