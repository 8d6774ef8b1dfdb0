"""Lines are added with the defaults of their kind, by the whole page or by its part."""

from collections.abc import Mapping
from itertools import cycle

import pytest
from django.test import Client

from shopapp.models import LabourRate, QuoteLine, QuoteOption, QuoteRevision
from tests.web.pages import fresh_key, text_of, values_of
from tests.web.shared.bad_values import tried_values

LINE = {"kind": "part", "description": "Carrier O-ring", "quantity": "1", "unit_price": "4.20"}
PART = {"HX-Request": "true"}


@pytest.fixture
def option(draft: QuoteRevision) -> QuoteOption:
    return QuoteOption.objects.get(choice__revision=draft, position=2)


def address(option: QuoteOption) -> str:
    return f"/quotes/option/{option.pk}/add-line/"


def added(browser: Client, option: QuoteOption, typed: Mapping[str, str]) -> QuoteLine:
    """The line that a form makes."""
    response = browser.post(address(option), fresh_key() | LINE | typed)
    assert response.status_code == 302, text_of(response)
    return QuoteLine.objects.order_by("-pk").first()


def test_add_line_leads_back_to_its_option(front_desk: Client, option: QuoteOption) -> None:
    response = front_desk.post(address(option), fresh_key() | LINE)

    assert response["Location"] == f"/quotes/{option.choice.revision_id}/edit/#quote-lines-{option.pk}"
    assert option.lines.count() == 2


def test_add_line_brings_the_comparison_along(front_desk: Client, option: QuoteOption) -> None:
    QuoteOption.objects.update(chance_e4=1_000)

    response = front_desk.post(address(option), fresh_key() | LINE, headers=PART)

    page = text_of(response)
    assert f'id="quote-comparison-{option.choice_id}" hx-swap-oob="true"' in page
    # 756.00 and an O-ring with its tax
    assert "$761" in page


def test_add_line_answers_htmx_with_the_part(front_desk: Client, option: QuoteOption) -> None:
    response = front_desk.post(address(option), fresh_key() | LINE, headers=PART)

    page = text_of(response)
    assert response.status_code == 200
    assert page.strip().startswith(f'<section class="option option-way-new" id="quote-lines-{option.pk}"')
    assert [text for text in ("Carrier O-ring", "$760.70", "<html") if text in page] == [
        "Carrier O-ring",
        "$760.70",
    ]


def test_add_line_twice_adds_one_t21(front_desk: Client, option: QuoteOption) -> None:
    key = fresh_key()

    for _ in range(2):
        front_desk.post(address(option), key | LINE, headers=PART)

    assert option.lines.count() == 2


def test_add_line_refuses_other_content_t20(front_desk: Client, option: QuoteOption) -> None:
    key = fresh_key()
    front_desk.post(address(option), key | LINE)

    response = front_desk.post(address(option), key | LINE | {"quantity": "9"})

    assert (response.status_code, option.lines.count()) == (422, 2)


@pytest.mark.parametrize(
    ("kind", "unit", "price"),
    [("labour", "h", 1_200_000), ("part", "each", 42_000), ("fluid", "L", 42_000), ("fee", "each", 42_000)],
)
def test_add_line_fills_what_is_usual(
    front_desk: Client, option: QuoteOption, kind: str, unit: str, price: int
) -> None:
    line = added(front_desk, option, {"kind": kind, "unit_price": "" if kind == "labour" else "4.20"})

    assert (line.unit, line.unit_price_e4, line.payer) == (unit, price, "customer")


def test_add_line_prices_cost_by_markup(owner: Client, option: QuoteOption) -> None:
    line = added(owner, option, {"unit_price": "", "unit_cost": "10.00"})

    # the band up to 50.00 takes 60 % on cost
    assert (line.unit_price_e4, line.unit_cost_e4) == (160_000, 100_000)


def test_add_line_needs_price_of_a_part(front_desk: Client, option: QuoteOption) -> None:
    response = front_desk.post(address(option), fresh_key() | LINE | {"unit_price": ""})

    assert (response.status_code, option.lines.count()) == (422, 1)
    assert "The price is missing." in text_of(response)


def test_add_line_without_usual_rate_asks(front_desk: Client, option: QuoteOption) -> None:
    LabourRate.objects.all().delete()

    response = front_desk.post(address(option), fresh_key() | LINE | {"kind": "labour", "unit_price": ""})

    assert (response.status_code, option.lines.count()) == (422, 1)


def test_add_line_keeps_what_was_typed(front_desk: Client, option: QuoteOption) -> None:
    typed = LINE | {"quantity": "two", "description": "O-ring <b>"}

    for headers in ({}, PART):
        response = front_desk.post(address(option), fresh_key() | typed, headers=headers)

        assert response.status_code == 422
        assert "two" in list(values_of(response, "quantity"))
        assert "O-ring <b>" in list(values_of(response, "description"))
        assert f'href="#id_option{option.pk}_quantity"' in text_of(response)


def test_add_line_ignores_cost_from_the_desk_t02(front_desk: Client, option: QuoteOption) -> None:
    line = added(front_desk, option, {"unit_cost": "1.23", "cost": "1.23", "role": "owner", "tax_code": "1"})

    assert (line.unit_cost_e4, line.tax_code.name) == (None, "Goods")


FIELDS = ("description", "quantity", "unit_price", "number", "discount", "unit_cost", "kind", "unit", "payer")


def test_add_line_answers_every_bad_value(owner: Client, option: QuoteOption) -> None:
    # each value goes into one field, so that each field gets numbers and texts of every sort
    for text, field in zip(tried_values(), cycle(FIELDS), strict=False):
        option.lines.all().delete()
        response = owner.post(address(option), fresh_key() | LINE | {field: text}, headers=PART)

        assert response.status_code in (200, 422), f"{field}: {text[:40]!r}"
        if response.status_code == 422:
            assert "field-error" in text_of(response), f"{field}: {text[:40]!r}"
            assert list(values_of(response, field)) in ([text], []), f"{field}: {text[:40]!r}"


def test_add_line_too_large_is_refused(front_desk: Client, option: QuoteOption) -> None:
    response = front_desk.post(
        address(option), fresh_key() | LINE | {"quantity": "10000", "unit_price": "1000000"}
    )

    assert (response.status_code, option.lines.count()) == (422, 1)
    assert "at most 10 million" in text_of(response)


def test_add_line_is_not_the_technicians(bench: Client, option: QuoteOption) -> None:
    assert (bench.post(address(option), fresh_key() | LINE).status_code, option.lines.count()) == (403, 1)


def test_add_line_to_missing_is_404(front_desk: Client) -> None:
    assert front_desk.post("/quotes/option/987654/add-line/", fresh_key() | LINE).status_code == 404
