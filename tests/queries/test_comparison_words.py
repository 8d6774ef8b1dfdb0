"""What a customer is told of a comparison: bills checked by hand, when it turns, and what is never said."""

import json
import re
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from typing import Any

import pytest

from shopapp.actions import quotes
from shopapp.actions.actor import Actor
from shopapp.actions.quote_drafts import LineInput
from shopapp.calc.expectation import expected
from shopapp.calc.life import Season, Weibull
from shopapp.calc.options import Option, Outlook, Warranty
from shopapp.documents.canonical import canonical
from shopapp.models import (
    ChanceFrom,
    FailsHow,
    LineKind,
    Person,
    QuoteLine,
    QuoteOption,
    QuoteRevision,
    Unit,
    Way,
)
from shopapp.queries.comparison_words import odds_words, rough_odds_words, season_words, time_words
from shopapp.queries.shown import content_from_rows, draft_content, figures, revision_rows
from tests.factories.comparisons import SEALS_HOLD, SHAFT_HOLDS, compared
from tests.factories.quotes import SEALS, draft_quote

pytestmark = pytest.mark.django_db

Acting = Callable[[Person], Actor]


@pytest.fixture
def draft(ilse: Person, now: datetime) -> QuoteRevision:
    """Seals for 376.38 with tax (3 months), a shaft for 756.00 (12 months)."""
    return draft_quote(ilse, at=now)


def told(draft: QuoteRevision, *, at: datetime) -> dict[str, Any]:
    content = draft_content(revision_rows(draft.pk), at=at)
    found: dict[str, Any] = content["jobs"][0]["comparison_shown"]
    return found


def option_of(draft: QuoteRevision, position: int) -> QuoteOption:
    return QuoteOption.objects.get(choice__revision=draft, position=position)


def test_two_bills_are_those_that_may_be_paid(
    ilse: Person, by: Acting, draft: QuoteRevision, now: datetime
) -> None:
    compared(draft, by=by(ilse), tow=Decimal(100))

    seals, shaft = told(draft, at=now)["rows"]

    assert (seals["holds"], shaft["holds"]) == ("$376", "$756")
    # after its three months: the tow and the shaft; the shaft is covered all season but for the tow
    assert seals["fails"] == (
        "$376 + $856 once its 3 months of warranty are over: B – New shaft and seals, 5 days without the boat"
    )
    assert shaft["fails"] == "$756 + $100: done again under warranty, 5 days without the boat"


def test_warranty_without_labour_leaves_the_labour_to_pay(
    ilse: Person, by: Acting, draft: QuoteRevision, now: datetime
) -> None:
    shaft = option_of(draft, 2)
    lives = {
        option_of(draft, 1).pk: SEALS_HOLD,
        shaft.pk: replace(SHAFT_HOLDS, covers_labour=False),
    }
    compared(draft, by=by(ilse), lives=lives)

    # nothing but labour is in it: 720.00 and 5 % tax
    assert told(draft, at=now)["rows"][1]["fails"].startswith("$756 + $756: done again under warranty")


def test_average_is_that_of_the_calculation(
    ilse: Person, by: Acting, draft: QuoteRevision, now: datetime
) -> None:
    """Put together by hand from prices, days, chances and the season, without the page's own way there."""
    compared(draft, by=by(ilse))
    outlook = Outlook(months=36, season=Season(handed_over=6, first_month=5, months=5))
    shaft = Option(
        name="shaft",
        price=756.0,
        life=Weibull(chance=0.05, shape=2.5),
        days=5,
        warranty=Warranty(months=12),
    )
    seals = Option(
        name="seals",
        price=376.38,
        life=Weibull(chance=0.3, shape=2.5),
        days=2,
        warranty=Warranty(months=3),
        follows="shaft",
    )
    answers = expected([seals, shaft], outlook=outlook)

    rows = told(draft, at=now)["rows"]

    assert now.month == 6
    assert [row["average"].replace(",", "") for row in rows] == [
        f"${answers[name].total:.0f}" for name in ("seals", "shaft")
    ]


def test_sentence_says_when_the_cheaper_one_stays_cheaper(
    ilse: Person, by: Acting, draft: QuoteRevision, now: datetime
) -> None:
    compared(draft, by=by(ilse))

    sentence = told(draft, at=now)["sentence"]

    found = re.fullmatch(
        r"Over 3 seasons, A stays cheaper on average than B as long as fewer than about (\d) in 10 repairs "
        r"like A are back within the first season\. We reckon with 3 in 10\. "
        r"(So [AB] costs least on average\.|Which one is cheaper on average is not sure: .*)",
        sentence,
    )
    assert found is not None, sentence


@pytest.mark.parametrize(
    ("origin", "words"),
    [
        (
            ChanceFrom.JUDGEMENT,
            "3 in 10 in the first season, more in later ones; our judgement, not a warranty",
        ),
        (
            ChanceFrom.COMMON,
            "3 in 10 in the first season, more in later ones; usual in the trade, not our own record",
        ),
    ],
)
def test_chance_says_whose_word_it_is(
    ilse: Person, by: Acting, draft: QuoteRevision, now: datetime, origin: str, words: str
) -> None:
    lives = {
        option_of(draft, 1).pk: replace(SEALS_HOLD, chance_from=origin),
        option_of(draft, 2).pk: SHAFT_HOLDS,
    }
    compared(draft, by=by(ilse), lives=lives)

    assert told(draft, at=now)["rows"][0]["chance"] == words


def test_nothing_is_told_while_an_option_has_no_chance(
    ilse: Person, by: Acting, draft: QuoteRevision, now: datetime
) -> None:
    compared(draft, by=by(ilse), lives={option_of(draft, 1).pk: SEALS_HOLD})

    assert told(draft, at=now) is None


def test_leaving_it_is_never_called_cheapest_without_a_price_of_a_day(
    ilse: Person, by: Acting, draft: QuoteRevision, now: datetime
) -> None:
    choice = draft.choices.get()
    leave = quotes.add_option(choice.pk, replace(SEALS, way=Way.LEAVE, title="Leave it", days=0), by=by(ilse))
    lives = {
        option_of(draft, 1).pk: SEALS_HOLD,
        option_of(draft, 2).pk: SHAFT_HOLDS,
        leave.pk: replace(SEALS_HOLD, chance=Decimal("0.6")),
    }
    compared(draft, by=by(ilse), lives=lives)

    found = told(draft, at=now)

    assert [row["letter"] for row in found["rows"]] == ["A", "B", "C"]
    assert found["rows"][2]["average"] == "$0"
    assert re.findall(r"\bC\b", found["sentence"]) == []


def test_chart_is_drawn_only_where_the_order_turns_for_sure(
    ilse: Person, by: Acting, draft: QuoteRevision, now: datetime
) -> None:
    seals, shaft = option_of(draft, 1), option_of(draft, 2)
    for chance, is_drawn in (("0.02", False), ("0.9", True)):
        lives = {
            seals.pk: replace(
                SEALS_HOLD, chance=Decimal(chance), fails_how=FailsHow.BY_CHANCE, follows=shaft.pk
            ),
            shaft.pk: replace(SHAFT_HOLDS, chance=Decimal("0.01")),
        }
        compared(draft, by=by(ilse), lives=lives)
        chart = told(draft, at=now)["chart"]
        assert (chart is not None) == is_drawn
    assert re.fullmatch(r"For about \d+ months A has cost less on average\.", chart["turns"])


def test_warranty_that_passes_while_boats_are_laid_up_is_called_that(
    ilse: Person, by: Acting, draft: QuoteRevision, now: datetime
) -> None:
    """Handed over in June where boats run from October on: three months are over before the first start."""
    compared(draft, by=by(ilse), season_first_month=10)

    fails = told(draft, at=now)["rows"][0]["fails"]

    assert fails.endswith("without the boat. Its 3 months of warranty pass while boats are laid up")


def test_customer_reads_no_shape_rate_cost_or_margin(
    maren: Person, by: Acting, draft: QuoteRevision, now: datetime
) -> None:
    """Planted: a cost and a rate that occur nowhere else; words of statistics are searched for."""
    QuoteLine.objects.filter(option__choice__revision=draft).update(unit_cost_e4=777_7000)
    compared(draft, by=by(maren), rate=Decimal("0.0731"))

    text = canonical(told(draft, at=now))

    forbidden = r"777|731|7\.3|weibull|shape|scale|discount rate|percent|per cent|%|margin|cost you|exposure"
    assert re.findall(forbidden, text, re.IGNORECASE) == []


def test_comparison_is_rebuilt_from_rows_and_its_words_are_kept(
    ilse: Person, by: Acting, draft: QuoteRevision, now: datetime
) -> None:
    compared(draft, by=by(ilse), own_word="I would take the shaft.")
    sent = quotes.send_quote(draft.pk, version=1, by=by(ilse))

    rebuilt = content_from_rows(revision_rows(sent.pk))

    assert canonical(rebuilt) == sent.shown
    assert rebuilt["jobs"][0]["terms"]["own_word_by_shown"] == ilse.name
    stored = json.loads(sent.shown)
    assert "comparison_shown" not in figures(stored)["jobs"][0]
    assert figures(stored)["jobs"][0]["options"][0]["life"]["chance_e4"] == 3_000


def test_what_is_taken_in_and_left_over_is_said_where_it_is_counted(
    ilse: Person, by: Acting, draft: QuoteRevision, now: datetime
) -> None:
    engine = replace(SHAFT_HOLDS, trade_in=Decimal(250), resale=Decimal(300))
    compared(draft, by=by(ilse), lives={option_of(draft, 1).pk: SEALS_HOLD, option_of(draft, 2).pk: engine})

    found = told(draft, at=now)

    # 756.00 less what is taken in
    assert found["rows"][1]["holds"] == "$506"
    assert found["how"][-1] == (
        "Counted as well: for B the $250 that we give for your old engine, that B is still worth $300 at the "
        "end."
    )


def test_not_offered_is_told_only_of_ways_that_are_not_there(
    ilse: Person, by: Acting, draft: QuoteRevision, now: datetime
) -> None:
    compared(draft, by=by(ilse), not_offered={Way.USED: "none to be had", Way.NEW: "too dear"})

    content = draft_content(revision_rows(draft.pk), at=now)

    kept = content["jobs"][0]["terms"]["not_offered"]
    assert kept == [{"way": "used", "way_shown": "Used part", "reason": "none to be had"}]


@pytest.mark.parametrize(
    ("fails", "words"),
    [
        (FailsHow.BY_CHANCE, "3 in 10 each season; our"),
        (FailsHow.WEARS_OUT, "3 in 10 in the first season, more in later ones; our"),
        (FailsHow.EARLY, "3 in 10 in the first season, fewer in later ones; our"),
    ],
)
def test_later_seasons_are_said_too(
    ilse: Person, by: Acting, draft: QuoteRevision, now: datetime, fails: str, words: str
) -> None:
    lives = {
        option_of(draft, 1).pk: replace(SEALS_HOLD, fails_how=fails),
        option_of(draft, 2).pk: SHAFT_HOLDS,
    }
    compared(draft, by=by(ilse), lives=lives)

    assert told(draft, at=now)["rows"][0]["chance"].startswith(words)


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.02, "1 in 50"),
        (0.05, "1 in 20"),
        (0.0667, "1 in 15"),
        (0.1, "1 in 10"),
        (0.125, "1 in 8"),
        (0.2, "2 in 10"),
        (0.25, "1 in 4"),
        (0.3, "3 in 10"),
        (0.5, "1 in 2"),
        (0.8, "8 in 10"),
        (0.9999, "nearly all"),
        (0.0001, "1 in 10000"),
    ],
)
def test_odds_are_said_as_people_do(chance: float, words: str) -> None:
    assert odds_words(chance) == words


@pytest.mark.parametrize(("chance", "words"), [(0.222, "2 in 10"), (0.06, "1 in 17"), (0.999, "10 in 10")])
def test_rough_odds_are_tenths(chance: float, words: str) -> None:
    assert rough_odds_words(chance) == words


@pytest.mark.parametrize(("months", "words"), [(12, "1 season"), (36, "3 seasons"), (18, "18 months")])
def test_time_is_in_seasons_where_it_can_be(months: int, words: str) -> None:
    assert time_words(months) == words


@pytest.mark.parametrize(
    ("first", "months", "words"),
    [(5, 5, "May to September"), (10, 6, "October to March"), (7, 1, "July"), (1, 12, "the whole year")],
)
def test_season_is_named_by_its_months(draft: QuoteRevision, first: int, months: int, words: str) -> None:
    choice = draft.choices.get()
    choice.season_first_month, choice.season_months = first, months

    assert season_words(choice, locale="en_CA") == words


def test_line_of_the_shop_is_not_in_the_bill_of_a_redo(
    ilse: Person, by: Acting, draft: QuoteRevision, now: datetime
) -> None:
    shaft = option_of(draft, 2)
    fee = LineInput(
        kind=LineKind.FEE, description="Freight", quantity=Decimal(1), unit=Unit.EACH, unit_price=Decimal(100)
    )
    quotes.add_line(shaft.pk, replace(fee, payer="shop"), by=by(ilse))
    lives = {option_of(draft, 1).pk: SEALS_HOLD, shaft.pk: replace(SHAFT_HOLDS, covers_supplies=False)}
    compared(draft, by=by(ilse), lives=lives)

    assert told(draft, at=now)["rows"][1]["fails"].startswith("$756 and nothing more")
