"""Parts of the shop's list are offered while their number is typed; a known number fills the rest."""

import pytest
from django.test import Client

from shopapp.actions import search_texts
from shopapp.models import Part, QuoteLine, QuoteOption, QuoteRevision
from tests.web.pages import fresh_key, text_of

NUMBER = "SR-1188"


@pytest.fixture
def part(draft: QuoteRevision) -> Part:
    row = Part.objects.create(
        number=NUMBER,
        description="Shaft seal, rebuilt",
        condition="rebuilt",
        unit="set",
        unit_price_e4=184_000,
        unit_cost_e4=7_654_321,
    )
    search_texts.index(row)
    return row


def added(browser: Client, draft: QuoteRevision, typed: dict[str, str]) -> QuoteLine:
    option = QuoteOption.objects.get(choice__revision=draft, position=2)
    line = {"kind": "part", "number": NUMBER, "quantity": "1"}
    browser.post(f"/quotes/option/{option.pk}/add-line/", fresh_key() | line | typed)
    return QuoteLine.objects.latest("pk")


@pytest.mark.parametrize("typed", ["SR-11", "sr1188", "1188"])
def test_known_parts_answer_while_typing(front_desk: Client, part: Part, typed: str) -> None:
    page = text_of(front_desk.get("/quotes/known-parts/", {"number": typed}))

    assert page.strip() == f'<option value="{NUMBER}">Shaft seal, rebuilt, rebuilt</option>'


def test_known_parts_hold_no_money(front_desk: Client, part: Part) -> None:
    page = text_of(front_desk.get("/quotes/known-parts/", {"number": "SR-11"}))

    assert [text for text in ("18.4", "765.4", "7654321") if text in page] == []


@pytest.mark.parametrize("text", ["", "x" * 5000, "%", "<script>"])
def test_known_parts_bear_any_text(front_desk: Client, part: Part, text: str) -> None:
    response = front_desk.get("/quotes/known-parts/", {"number": text})

    assert (response.status_code, "<script>" in text_of(response)) == (200, False)


def test_known_number_fills_what_is_empty(front_desk: Client, draft: QuoteRevision, part: Part) -> None:
    line = added(front_desk, draft, {"number": "sr 1188"})

    found = (line.description, line.unit, line.condition, line.unit_price_e4, line.unit_cost_e4)
    assert found == ("Shaft seal, rebuilt", "set", "rebuilt", 184_000, 7_654_321)


def test_known_number_leaves_what_is_typed(front_desk: Client, draft: QuoteRevision, part: Part) -> None:
    line = added(front_desk, draft, {"description": "Seal", "unit_price": "9", "condition": "used"})

    assert (line.description, line.condition, line.unit_price_e4) == ("Seal", "used", 90_000)


def test_known_part_without_price_sells_at_markup(
    front_desk: Client, draft: QuoteRevision, part: Part
) -> None:
    Part.objects.update(unit_price_e4=None, unit_cost_e4=100_000)

    # the band up to 50.00 takes 60 % on cost
    assert added(front_desk, draft, {}).unit_price_e4 == 160_000


def test_known_parts_are_not_the_technicians(bench: Client, part: Part) -> None:
    assert bench.get("/quotes/known-parts/", {"number": "SR"}).status_code == 403
