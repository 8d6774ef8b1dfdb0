"""The record of an answer on paper: all that was agreed, how it came about, and what proves it."""

from datetime import datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection

from shopapp.actions import approvals, links, spoken_answers
from shopapp.actions.approvals import DecisionInput
from shopapp.actions.spoken_answers import SpokenInput
from shopapp.actions.start_now import StartNowInput, start_now
from shopapp.documents.approvals import approval_html, approval_pdf
from shopapp.documents.quotes import NotAsShown, verified_approval
from shopapp.models import AnswerHow, Approval, Person, QuoteRevision, Shop, Stage, StoredPaper
from shopapp.queries.shown import revision_rows, stored_content
from shopapp.triggers import remove_triggers
from tests.documents.test_quotes import words_of
from tests.factories.jobs import job_at
from tests.factories.quotes import answered, behind, desk, first_options, opened_link, sent_quote

pytestmark = pytest.mark.django_db(transaction=True)

HOUR = timedelta(hours=1)


def printed(revision: QuoteRevision) -> bytes:
    return approval_pdf(revision_rows(revision.pk))


def test_record_of_a_signature_says_it_all(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    approval = answered(sent, ilse, at=now)

    words = words_of(printed(sent))

    wanted = [
        "What was agreed",
        "Q-00001 · revision 1",
        "A – New seals on the old shaft",
        "Propeller shaft seal SR-1188 2 $18.40 $36.80",
        "Agreed, with tax $376.38",
        "signed here",
        "Aud Nilsen",
        "2 Jun 2026, 10:31 PDT",
        "Date and time · handed over by Ilse Brandt",
        "I agree that the shop does the work chosen above for the price shown.",
        "Text of the consent: version 1.",
    ]
    assert [text for text in wanted if text not in words] == []
    hashes = words.replace(" ", "")
    assert [one in hashes for one in (sent.shown_sha256, approval.signed_sha256)] == [True, True]
    # what was not chosen is no part of it
    assert "New shaft and seals" not in words


def test_record_of_a_call_has_the_six_facts_t34(ilse: Person, now: datetime) -> None:
    job = job_at(Stage.DIAGNOSIS)
    said = StartNowInput(
        what="New impeller",
        at_most=Decimal("180.00"),
        spoken_with="Pia Holm",
        number="604 555 0199",
        spoken_at=now,
        relation="skipper",
    )
    approval = start_now(job.pk, said, by=desk(ilse, at=now + HOUR / 2))

    words = words_of(printed(approval.revision))

    wanted = [
        "by telephone",
        "Said by Pia Holm, skipper",
        "When 2 Jun 2026, 10:30 PDT",
        "Number called 604 555 0199",
        "What was agreed New impeller",
        "This adds, without tax $180.00",
        "New total, without tax $180.00",
        "Written down by Ilse Brandt, 2 Jun 2026, 11:00 PDT",
        "nobody signed",
    ]
    assert [text for text in wanted if text not in words] == []
    # a consent that nobody signed is not printed as if somebody had
    assert "I agree that the shop" not in words


def test_record_of_a_link_says_where_it_was_sent(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    link, _ = links.open_phone(sent.pk, "604 555 0199", by=desk(ilse, at=now))
    data = DecisionInput(is_declined=False, chosen=first_options(sent), signed_name="Aud Nilsen")
    approvals.decide(sent.pk, data, by=behind(link, at=now + HOUR))

    words = words_of(printed(sent))

    assert [
        text for text in ("by link", "Link sent to 604 555 0199", "Aud Nilsen") if text not in words
    ] == []


def test_record_of_a_no_keeps_the_reason(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    said = SpokenInput(
        how=AnswerHow.EMAIL,
        is_declined=True,
        chosen={},
        spoken_with="Aud Nilsen",
        number="aud@inlet.test",
        spoken_at=now,
        reason="Selling the boat",
    )
    spoken_answers.record_spoken(sent.pk, said, by=desk(ilse, at=now + HOUR))

    words = words_of(printed(sent))

    wanted = ["What was declined", "Not now", "Selling the boat", "Email address aud@inlet.test"]
    assert [text for text in wanted if text not in words] == []


def test_record_says_who_wants_parts_back(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    link, _ = opened_link(sent, ilse, at=now)
    data = DecisionInput(
        is_declined=False, chosen=first_options(sent), signed_name="Aud Nilsen", wants_parts_back=True
    )
    approvals.decide(sent.pk, data, by=behind(link, at=now))

    assert "Replaced parts the customer wants them back" in words_of(printed(sent))


def test_record_is_the_same_bytes_again(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    answered(sent, ilse, at=now)
    first = printed(sent)
    Shop.objects.update(name="Other Name", consent_text="Other words")

    assert printed(sent) == first
    StoredPaper.objects.all().delete()
    assert printed(sent) == first


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_record_comes_in_both_sizes(ilse: Person, now: datetime, size: str) -> None:
    sent = sent_quote(ilse, at=now)
    answered(sent, ilse, at=now)
    rows = revision_rows(sent.pk)

    html = approval_html(verified_approval(rows), content=stored_content(rows), paper_size=size)

    assert html.count(f'<body class="{size}">') == 1


def test_record_needs_an_answer(ilse: Person, now: datetime) -> None:
    with pytest.raises(NotAsShown, match="has no answer yet"):
        printed(sent_quote(ilse, at=now))


@pytest.mark.parametrize("change", [{"signed_name": "Somebody"}, {"with_tax_minor": 1}])
def test_record_of_what_was_changed_is_impossible_t35(
    ilse: Person, now: datetime, change: dict[str, object]
) -> None:
    sent = sent_quote(ilse, at=now)
    answered(sent, ilse, at=now)
    remove_triggers(connection)
    Approval.objects.update(**change)

    with pytest.raises(NotAsShown, match="cannot be printed"):
        printed(sent)
