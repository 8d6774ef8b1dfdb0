"""What a visit says of its customer's answers: how each was given."""

from collections.abc import Sequence
from datetime import datetime

import pytest

from shopapp.actions import approvals, links, spoken_answers
from shopapp.actions.approvals import DecisionInput
from shopapp.actions.spoken_answers import SpokenInput
from shopapp.models import AnswerHow, Person, QuoteRevision
from shopapp.queries.answers import Agreed, quotes_of
from tests.factories.quotes import answered, behind, desk, first_options, sent_quote

pytestmark = pytest.mark.django_db


def told_of(revision: QuoteRevision) -> Sequence[Agreed]:
    return quotes_of(revision.quote.work_order).answers(currency=None)


@pytest.mark.parametrize(
    ("how", "words"),
    [
        (AnswerHow.PHONE, "Told by telephone to Ilse Brandt"),
        (AnswerHow.EMAIL, "Told by email to Ilse Brandt"),
    ],
)
def test_told_answer_says_who_heard_it(ilse: Person, now: datetime, how: AnswerHow, words: str) -> None:
    sent = sent_quote(ilse, at=now)
    said = SpokenInput(
        how=how,
        is_declined=False,
        chosen=first_options(sent),
        spoken_with="Aud Nilsen",
        number="604 555 0199",
        spoken_at=now,
    )

    spoken_answers.record_spoken(sent.pk, said, by=desk(ilse, at=now))

    assert [(one.given, one.signed_name) for one in told_of(sent)] == [(words, "Aud Nilsen")]


def test_signed_answer_says_on_whose_device(ilse: Person, now: datetime) -> None:
    here, away = (sent_quote(ilse, at=now) for _ in range(2))
    answered(here, ilse, at=now)
    link, _ = links.open_phone(away.pk, "604 555 0199", by=desk(ilse, at=now))
    data = DecisionInput(is_declined=False, chosen=first_options(away), signed_name="Aud Nilsen")
    approvals.decide(away.pk, data, by=behind(link, at=now))

    given = [told_of(one)[0].given for one in (here, away)]

    assert given == ["Signed here", "Signed by link, on their own phone"]
