"""The builder's page: the owner's with costs and margins, the desk's without."""

from dataclasses import asdict, replace
from datetime import datetime
from decimal import Decimal

import pytest

from shopapp.models import Payer, Person, QuoteLine, QuoteOption, QuoteRevision, Shop
from shopapp.queries.quotes import builder_page
from tests.factories.quotes import LABOUR, OIL, SEAL, add_lines, desk, draft_quote

pytestmark = pytest.mark.django_db


def costed_draft(maren: Person, now: datetime) -> QuoteRevision:
    """The second option gets two costed parts and oil that the shop gives."""
    draft = draft_quote(maren, at=now)
    option = QuoteOption.objects.get(choice__revision=draft, position=2)
    lines = [
        replace(SEAL, unit_cost=Decimal("9.1050")),
        replace(OIL, payer=Payer.SHOP, unit_cost=Decimal("9.80")),
    ]
    add_lines(option, lines, by=desk(maren, at=now))
    return draft


def test_owner_reads_margin_of_an_option(maren: Person, now: datetime) -> None:
    page = builder_page(costed_draft(maren, now).pk, viewer=maren, at=now)

    margin = page.jobs[0].options[1].margin

    # 2 x 9.105 + 0.75 x 9.80 = 25.56 spent (worked out by hand); labour has no cost, so there is no margin
    assert margin is not None
    assert asdict(margin) == {"cost": "$25.56", "margin": "–", "share": "", "missing": "1 line has no cost"}


def test_owner_reads_margin_once_every_cost_is_known(maren: Person, now: datetime) -> None:
    draft = costed_draft(maren, now)
    QuoteLine.objects.filter(option__choice__revision=draft, unit_cost_e4=None).update(unit_cost_e4=0)
    page = builder_page(draft.pk, viewer=maren, at=now)

    margin = page.jobs[0].options[1].margin

    # 720.00 + 36.80 sold less 25.56 spent: 731.24 is 96.62 % (worked out by hand)
    assert (margin.margin, margin.share, margin.missing) == ("$731.24", "96.62\u00a0%", "")


def test_owner_reads_margin_of_each_line(maren: Person, now: datetime) -> None:
    page = builder_page(costed_draft(maren, now).pk, viewer=maren, at=now)

    lines = page.jobs[0].options[1].lines

    read = [(line.margin.cost, line.margin.margin, line.margin.share) for line in lines]
    assert read == [
        ("–", "–", ""),
        ("$18.21", "$18.59", "50.52\u00a0%"),
        ("$7.35", "-$7.35", ""),
    ]


def test_margin_is_without_contained_tax(maren: Person, now: datetime) -> None:
    draft = costed_draft(maren, now)
    Shop.objects.update(prices_include_tax=True)

    page = builder_page(draft.pk, viewer=maren, at=now)

    # 36.80 with 12 % inside is 32.86 net; less 18.21
    assert page.jobs[0].options[1].lines[1].margin.margin == "$14.65"


def test_desk_gets_page_without_costs(maren: Person, ilse: Person, now: datetime) -> None:
    page = builder_page(costed_draft(maren, now).pk, viewer=ilse, at=now)

    option = page.jobs[0].options[1]
    assert (page.shows_costs, option.margin, [line.margin for line in option.lines]) == (
        False,
        None,
        [None, None, None],
    )


def test_margin_follows_the_discount_on_the_whole(maren: Person, now: datetime) -> None:
    draft = costed_draft(maren, now)
    QuoteLine.objects.filter(option__choice__revision=draft, unit_cost_e4=None).update(unit_cost_e4=0)
    QuoteRevision.objects.update(discount_e4=1_000, discount_reason="Spring offer")

    margin = builder_page(draft.pk, viewer=maren, at=now).jobs[0].options[1].margin

    # 756.80 less a tenth (75.68), less 25.56 spent: 655.56 of 681.12 (worked out by hand)
    assert margin is not None
    assert (margin.cost, margin.margin, margin.share) == ("$25.56", "$655.56", "96.25\u00a0%")


def test_line_is_ready_to_show(maren: Person, now: datetime) -> None:
    page = builder_page(costed_draft(maren, now).pk, viewer=maren, at=now)

    line = asdict(replace(page.jobs[0].options[1].lines[2], margin=None))

    assert line == {
        "pk": line["pk"],
        "version": 1,
        "kind": "Fluid",
        "number": "",
        "description": "Gear oil",
        "quantity": "0.75\u00a0L",
        "unit_price": "$24.00",
        "discount": "",
        "payer": "Shop (goodwill)",
        "amount": "$18.00",
        "condition": "",
        "is_minimum_charge": False,
        "margin": None,
    }


@pytest.mark.parametrize("lines", [1, 100])
def test_builder_page_takes_eleven_queries(
    maren: Person, now: datetime, lines: int, django_assert_num_queries: object
) -> None:
    draft = draft_quote(maren, at=now)
    option = QuoteOption.objects.get(choice__revision=draft, position=2)
    add_lines(option, [LABOUR] * (lines - 1), by=desk(maren, at=now))

    with django_assert_num_queries(11):
        builder_page(draft.pk, viewer=maren, at=now)
