"""The quote on paper: all that was shown, all that was agreed, and nothing that does not check out."""

import io
import json
from datetime import datetime, timedelta

import pytest
from django.db import connection
from pypdf import PdfReader

from shopapp.actions import approvals, quotes
from shopapp.actions.approvals import DecisionInput
from shopapp.documents.quotes import NotAsShown, quote_html, quote_pdf
from shopapp.models import Customer, Job, Person, QuoteOption, QuoteRevision, Shop
from shopapp.queries.shown import revision_rows, stored_content
from shopapp.triggers import apply_triggers, remove_triggers
from tests.factories.quotes import (
    answered,
    behind,
    desk,
    draft_quote,
    first_options,
    opened_link,
    sent_quote,
)

pytestmark = pytest.mark.django_db(transaction=True)


def words_of(pdf: bytes) -> str:
    """The text of all pages with single spaces."""
    text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
    return " ".join(text.split())


def printed(revision: QuoteRevision) -> bytes:
    return quote_pdf(revision_rows(revision.pk), photos={})


def test_paper_holds_all_that_was_shown(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)

    words = words_of(printed(sent))

    wanted = [
        "Heron Inlet Outboards",
        "TEST-0001",
        "Q-00001 · revision 1",
        "Prices hold until",
        "2 Jul 2026",
        "Gear oil looks milky",
        "A – New seals on the old shaft",
        "B – New shaft and seals",
        "The propeller, which is nicked.",
        "Propeller shaft seal SR-1188 2 $18.40 $36.80",
        "Provincial 7 % $3.84",
        "$376.38",
        "$756.00",
        "Tax at today's rate.",
        "I agree that the shop does the work chosen above for the price shown.",
        "Name and signature",
    ]
    assert [text for text in wanted if text not in words] == []


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_one_way_with_its_terms_fits_one_page(size: str, ilse: Person, now: datetime) -> None:
    Shop.objects.update(paper=size, warranty_terms="Wear by use is not covered. " * 6)
    draft = draft_quote(ilse, at=now)
    Job.objects.update(cause="The cable is swollen inside; the tube is dry. " * 5)
    shaft = QuoteOption.objects.get(choice__revision=draft, position=2)
    quotes.remove_option(shaft.pk, version=1, by=desk(ilse, at=now))
    draft.refresh_from_db()
    sent = quotes.send_quote(draft.pk, version=draft.version, by=desk(ilse, at=now))

    assert len(PdfReader(io.BytesIO(printed(sent))).pages) == 1


def test_paper_of_answer_shows_the_chosen(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    link, _ = opened_link(sent, ilse, at=now)
    point = {"x": 60.5, "y": 120, "time": 1, "pressure": 0.5}
    drawing = {"width": 600, "height": 240, "strokes": [{"points": [point, point | {"x": 300}]}]}
    data = DecisionInput(
        is_declined=False,
        chosen=first_options(sent),
        signed_name="Aud Nilsen",
        strokes=json.dumps(drawing),
    )
    approvals.decide(sent.pk, data, by=behind(link, at=now + timedelta(minutes=1)))

    words = words_of(printed(sent))

    assert "Agreed A – New seals on the old shaft Without tax $354.80" in words
    assert "Agreed, with tax $376.38" in words
    assert "Aud Nilsen 2 Jun 2026, 10:31 PDT Date and time · handed over by Ilse Brandt" in words
    assert "Name and signature" not in words


def test_paper_is_the_same_bytes_again(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    first = printed(sent)
    Shop.objects.update(name="Other Name", phone="0")
    Customer.objects.update(name="Somebody Else")
    Job.objects.update(cause="Found since")

    assert printed(sent) == first


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_paper_comes_in_both_sizes(ilse: Person, now: datetime, size: str) -> None:
    content = stored_content(sent_quote(ilse, at=now))

    html = quote_html(content, paper_size=size)

    assert html.count(f'<body class="{size}">') == 1


def test_paper_shows_script_as_letters_t13(ilse: Person, now: datetime) -> None:
    Shop.objects.update(name="<script>alert(1)</script>")
    sent = sent_quote(ilse, at=now)

    assert "<script>" not in quote_html(stored_content(sent), paper_size="a4")
    assert "<script>alert(1)</script>" in words_of(printed(sent))


TAMPERED = [
    "UPDATE shopapp_quoteline SET unit_price_e4 = 1",
    "UPDATE shopapp_quoteoption SET title = 'New engine' WHERE position = 1",
    "UPDATE shopapp_quoterevision SET shown = replace(shown, '300.00', '100.00')",
    "UPDATE shopapp_approval SET signed_name = 'Somebody Else'",
    "UPDATE shopapp_approvedchoice SET option_id = NULL",
]


@pytest.mark.parametrize("change", TAMPERED)
def test_paper_refuses_what_was_changed_t35(ilse: Person, now: datetime, change: str) -> None:
    sent = sent_quote(ilse, at=now)
    answered(sent, ilse, at=now)
    altered(change)

    with pytest.raises(NotAsShown, match="cannot be printed"):
        printed(sent)


def test_paper_of_other_option_is_impossible_t35(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    answered(sent, ilse, at=now)
    other = QuoteOption.objects.get(position=2)
    altered(f"UPDATE shopapp_approvedchoice SET option_id = {other.pk}")

    with pytest.raises(NotAsShown, match="no longer matches what was signed"):
        printed(sent)


def altered(change: str) -> None:
    """What somebody with the database alone could do."""
    remove_triggers(connection)
    with connection.cursor() as cursor:
        cursor.execute(change)
    apply_triggers(connection)
