"""A customer asks behind their link, the desk answers; both are kept and nothing is decided by it."""

from collections.abc import Callable
from datetime import datetime, timedelta

import pytest

from shopapp.actions import questions, quotes
from shopapp.actions.actor import Actor
from shopapp.actions.refusals import NotAllowed, Refused, Stale
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Person, Question, QuoteRevision
from tests.factories.quotes import answered, behind, desk, opened_link, sent_quote

pytestmark = pytest.mark.django_db

Acting = Callable[[Person], Actor]


@pytest.fixture
def sent(ilse: Person, now: datetime) -> QuoteRevision:
    return sent_quote(ilse, at=now)


@pytest.fixture
def customer(sent: QuoteRevision, ilse: Person, now: datetime) -> Actor:
    link, _ = opened_link(sent, ilse, at=now)
    return behind(link, at=now)


def test_question_is_kept_and_decides_nothing(sent: QuoteRevision, customer: Actor) -> None:
    question = questions.ask_question(sent.pk, " Is it safe to run? ", by=customer)

    question.refresh_from_db()
    assert (question.text, question.link, question.asked_at) == (
        "Is it safe to run?",
        customer.link,
        customer.at,
    )
    told = Activity.objects.latest("seq")
    assert (told.verb, told.actor_name, told.work_order) == (
        "ask question",
        "customer",
        sent.quote.work_order,
    )
    assert "safe" not in told.payload
    assert QuoteRevision.objects.get().state == "sent"


def test_answer_is_kept_with_who_gave_it(sent: QuoteRevision, customer: Actor, ilse: Person) -> None:
    question = questions.ask_question(sent.pk, "Is it safe to run?", by=customer)

    saved = questions.answer_question(
        question.pk, "Not until it is mended.", version=1, by=desk(ilse, at=customer.at)
    )

    assert (saved.answer, saved.answered_by, saved.answered_at) == (
        "Not until it is mended.",
        ilse,
        customer.at,
    )


def test_second_answer_is_told_of_the_first(sent: QuoteRevision, customer: Actor, ilse: Person) -> None:
    question = questions.ask_question(sent.pk, "Is it safe to run?", by=customer)
    questions.answer_question(question.pk, "No.", version=1, by=desk(ilse, at=customer.at))

    with pytest.raises(Stale):
        questions.answer_question(question.pk, "Yes.", version=1, by=desk(ilse, at=customer.at))

    assert Question.objects.get().answer == "No."


@pytest.mark.parametrize("text", ["", "  ", "x" * 1001])
def test_question_refuses_empty_and_endless(sent: QuoteRevision, customer: Actor, text: str) -> None:
    with pytest.raises(BadInput) as refusal:
        questions.ask_question(sent.pk, text, by=customer)

    assert (refusal.value.field, Question.objects.count()) == ("text", 0)


def test_question_needs_an_open_quote(
    sent: QuoteRevision, customer: Actor, ilse: Person, now: datetime
) -> None:
    answered(sent, ilse, at=now)

    with pytest.raises(Refused, match="not open any more"):
        questions.ask_question(sent.pk, "And now?", by=customer)


def test_question_needs_a_link_in_force(sent: QuoteRevision, customer: Actor, now: datetime) -> None:
    late = behind(customer.link, at=now + timedelta(minutes=30))

    with pytest.raises(Refused, match="not open any more"):
        questions.ask_question(sent.pk, "Hello?", by=late)


def test_question_reaches_its_own_quote_alone(
    sent: QuoteRevision, customer: Actor, ilse: Person, now: datetime
) -> None:
    other = sent_quote(ilse, at=now)

    with pytest.raises(NotAllowed, match="does not lead to this quote"):
        questions.ask_question(other.pk, "Hello?", by=customer)


def test_questions_come_to_an_end(sent: QuoteRevision, customer: Actor) -> None:
    for number in range(20):
        questions.ask_question(sent.pk, f"Question {number}", by=customer)

    with pytest.raises(Refused, match="call the shop"):
        questions.ask_question(sent.pk, "One more", by=customer)


def test_roles_ask_and_answer_apart(
    sent: QuoteRevision, customer: Actor, ilse: Person, tobiah: Person, by: Acting
) -> None:
    question = questions.ask_question(sent.pk, "Is it safe to run?", by=customer)

    with pytest.raises(NotAllowed, match="Only the customer asks"):
        questions.ask_question(sent.pk, "Me too", by=by(ilse))
    for actor in (by(tobiah), customer):
        with pytest.raises(NotAllowed, match="Only the front desk and the owner"):
            questions.answer_question(question.pk, "No.", version=1, by=actor)


def test_question_may_be_answered_after_revising(sent: QuoteRevision, customer: Actor, ilse: Person) -> None:
    question = questions.ask_question(sent.pk, "Is it safe to run?", by=customer)
    quotes.revise_quote(sent.pk, by=desk(ilse, at=customer.at))

    saved = questions.answer_question(question.pk, "No.", version=1, by=desk(ilse, at=customer.at))

    assert saved.answer == "No."
