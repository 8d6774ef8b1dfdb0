"""What was shown: built from rows, exact, in order of price, and the same again later."""

import json
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal

import pytest

from shopapp.actions import quotes
from shopapp.documents.canonical import canonical, digest
from shopapp.models import Customer, Payer, Person, QuoteOption, QuoteRevision, Shop, Way
from shopapp.queries.frozen_sums import chosen_totals
from shopapp.queries.shown import (
    content_from_rows,
    content_on_frozen_facts,
    draft_content,
    figures,
    number_words,
    quantity_words,
    revision_rows,
    stored_content,
)
from shopapp.queries.shown_words import days_words, warranty_words
from tests.factories import JobFactory, WorkOrderFactory
from tests.factories.quotes import (
    LABOUR,
    OIL,
    SEALS,
    add_lines,
    desk,
    draft_quote,
    sent_quote,
)

pytestmark = pytest.mark.django_db


def option_of(revision: QuoteRevision, *, position: int) -> QuoteOption:
    return QuoteOption.objects.get(choice__revision=revision, position=position)


def test_rows_rebuild_what_was_shown(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)

    rebuilt = canonical(content_from_rows(revision_rows(sent.pk)))

    assert (rebuilt, digest(rebuilt)) == (sent.shown, sent.shown_sha256)


def test_draft_content_is_what_gets_sent(ilse: Person, now: datetime) -> None:
    draft = draft_quote(ilse, at=now)
    content = draft_content(revision_rows(draft.pk), at=now)

    sent = quotes.send_quote(draft.pk, version=1, by=desk(ilse, at=now))

    assert canonical(content) == sent.shown


def test_options_stand_by_todays_price(ilse: Person, now: datetime) -> None:
    draft = draft_quote(ilse, at=now)
    by = desk(ilse, at=now)
    add_lines(option_of(draft, position=1), [LABOUR] * 2, by=by)
    quotes.add_option(draft.choices.get().pk, replace(SEALS, way=Way.LEAVE, title="Leave it"), by=by)

    content = draft_content(revision_rows(draft.pk), at=now)

    shown = [(one["letter"], one["title"]) for one in content["jobs"][0]["options"]]
    assert shown == [("A", "New shaft and seals"), ("B", "New seals on the old shaft"), ("C", "Leave it")]


def test_line_of_others_has_no_amount(ilse: Person, now: datetime) -> None:
    draft = draft_quote(ilse, at=now)
    add_lines(option_of(draft, position=2), [replace(OIL, payer=Payer.SHOP)], by=desk(ilse, at=now))

    content = draft_content(revision_rows(draft.pk), at=now)

    option = content["jobs"][0]["options"][1]
    gift = option["lines"][1]
    assert (gift["amount"], gift["amount_shown"], gift["unit_price_shown"]) == ("", "Shop (goodwill)", "")
    assert option["totals"]["with_tax"] == "756.00"


def test_content_adds_no_options_up(ilse: Person, now: datetime) -> None:
    content = stored_content(sent_quote(ilse, at=now))

    # 376.38 and 756.00 stand apart; their sum stands nowhere
    assert "1132.38" not in json.dumps(content)
    assert "1,132.38" not in json.dumps(content)
    assert "totals" not in content


def test_chosen_totals_are_of_chosen_lines(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    content = stored_content(sent)

    totals = chosen_totals(content, options=[option_of(sent, position=2).pk])

    # six hours at 120.00 and 5 %
    assert (totals.without_tax, totals.with_tax) == (Decimal("720.00"), Decimal("756.00"))


def test_exempt_customer_reads_the_reason(ilse: Person, now: datetime) -> None:
    visit = WorkOrderFactory()
    JobFactory(work_order=visit)
    Customer.objects.update(is_tax_exempt=True, exemption_reason="Fishing vessel", exemption_number="F-7")

    content = stored_content(sent_quote(ilse, at=now, work_order=visit))

    totals = content["jobs"][0]["options"][0]["totals"]
    assert totals["with_tax"] == totals["without_tax"]
    assert [row["label_shown"] for row in totals["rows"]] == ["Fishing vessel F-7"]


def test_frozen_facts_outlive_a_move(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    Shop.objects.update(name="Other Name", currency="EUR", locale="de_DE", prices_include_tax=True)

    rebuilt = content_on_frozen_facts(revision_rows(sent.pk))

    assert figures(rebuilt) == figures(stored_content(sent))


def test_figures_leave_shown_words_out() -> None:
    content = {"a": "1", "a_shown": "$1", "rows": [{"b": 2, "b_shown": "two"}]}

    assert figures(content) == {"a": "1", "rows": [{"b": 2}]}


def test_draft_is_valid_as_long_as_set(ilse: Person, now: datetime) -> None:
    draft = draft_quote(ilse, at=now)
    Shop.objects.update(quote_valid_days=10)

    content = draft_content(revision_rows(draft.pk), at=now)

    assert (content["date"], content["valid_until"]) == (
        date(2026, 6, 2).isoformat(),
        date(2026, 6, 12).isoformat(),
    )


@pytest.mark.parametrize("lines", [1, 100])
def test_content_takes_ten_queries(
    ilse: Person, now: datetime, lines: int, django_assert_num_queries: object
) -> None:
    draft = draft_quote(ilse, at=now)
    add_lines(option_of(draft, position=2), [LABOUR] * (lines - 1), by=desk(ilse, at=now))

    with django_assert_num_queries(10):
        draft_content(revision_rows(draft.pk), at=now)


@pytest.mark.parametrize(
    ("months", "covers", "words"),
    [(0, "seals", "none"), (1, "", "1 month"), (12, "the unit", "12 months: the unit")],
)
def test_warranty_words_are_plain(months: int, covers: str, words: str) -> None:
    assert warranty_words(months, covers) == words


def test_days_and_quantities_in_words() -> None:
    facts = {"rules": {"locale": "en_CA"}, "words": {"units": {"h": "h", "each": "each"}}}

    words = [days_words(1), days_words(5)]
    words += [quantity_words(milli, unit=unit, facts=facts) for milli, unit in ((2500, "h"), (2000, "each"))]

    assert words == ["1 day", "5 days", "2.5\u00a0h", "2"]


@pytest.mark.parametrize(("locale", "words"), [("en_CA", "1,234.5"), ("de_DE", "1.234,5")])
def test_number_words_follow_the_locale(locale: str, words: str) -> None:
    assert number_words(Decimal("1234.500"), locale=locale) == words
