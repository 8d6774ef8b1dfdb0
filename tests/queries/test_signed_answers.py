"""A signed answer in words, with its drawing as lines."""

import json
from datetime import datetime, timedelta

import pytest

from shopapp.actions import approvals, links
from shopapp.actions.approvals import DecisionInput
from shopapp.documents.quotes import verified_approval
from shopapp.models import Person
from shopapp.queries.shown import stored_content
from shopapp.queries.signed_answers import SignedAnswer, signed_answer
from tests.factories.quotes import behind, desk, first_options, opened_link, sent_quote

pytestmark = pytest.mark.django_db


def answer_given(person: Person, now: datetime, **changes: object) -> SignedAnswer:
    sent = sent_quote(person, at=now)
    link, _ = opened_link(sent, person, at=now)
    data = {"is_declined": False, "chosen": first_options(sent), "signed_name": "Aud Nilsen"} | changes
    approval = approvals.decide(
        sent.pk, DecisionInput(**data), by=behind(link, at=now + timedelta(minutes=1))
    )
    return signed_answer(approval, content=stored_content(sent))


def test_answer_says_what_was_agreed(ilse: Person, now: datetime) -> None:
    answer = answer_given(ilse, now)

    assert answer.is_approved
    assert [one.option["title"] for one in answer.jobs] == ["New seals on the old shaft"]
    assert answer.totals["with_tax_shown"] == "$376.38"
    # 17:31 UTC on the clock of the shop
    assert (answer.signed_name, answer.signed_at) == ("Aud Nilsen", "2 Jun 2026, 10:31 PDT")
    assert answer.witness == "Ilse Brandt"


def test_answer_of_no_names_no_option(ilse: Person, now: datetime) -> None:
    answer = answer_given(ilse, now, is_declined=True, reason="Too dear")

    assert (answer.is_approved, answer.reason) == (False, "Too dear")
    assert [one.option for one in answer.jobs] == [None]


def test_answer_draws_strokes_and_dots(ilse: Person, now: datetime) -> None:
    points = [{"x": x, "y": 2.5, "time": x, "pressure": 0} for x in (1, 3)]
    drawing = {"width": 600, "height": 240, "strokes": [{"points": points}, {"points": points[:1]}]}

    answer = answer_given(ilse, now, strokes=json.dumps(drawing))

    assert answer.strokes == ("1,2.5 3,2.5", "1,2.5 1,2.5")


def test_answer_by_link_says_where_it_was_sent(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    by = desk(ilse, at=now)
    links.open_phone(sent.pk, "604 555 0100", by=by)
    link, _ = links.open_phone(sent.pk, "604 555 0199", by=desk(ilse, at=now + timedelta(minutes=1)))
    opened_link(sent, ilse, at=now)
    data = DecisionInput(is_declined=False, chosen=first_options(sent), signed_name="Aud Nilsen")

    approval = approvals.decide(sent.pk, data, by=behind(link, at=now + timedelta(minutes=2)))

    answer = signed_answer(approval, content=stored_content(sent))
    # of two links the one that was in force; the one before it was shut when it was sent anew
    assert [(fact.label, fact.value) for fact in answer.facts] == [("Link sent to", "604 555 0199")]
    assert verified_approval(sent) == approval


def test_answer_at_the_counter_went_nowhere(ilse: Person, now: datetime) -> None:
    assert answer_given(ilse, now).facts == ()
