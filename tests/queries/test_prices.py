"""How a row of the actual book is priced; figures by hand beside each case."""

from decimal import Decimal

import pytest

from shopapp.models import LabourRate, MarkupBand, QuoteLine, Shop
from shopapp.queries.prices import extra_price, frozen_from_plan, usual_labour_price

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("kind", "unit", "expected"),
    [
        ("part", "each", (50_000, 80_000)),
        ("part", "m", (50_000, 80_000)),
        ("labour", "h", (50_000, 80_000)),
        ("labour", "each", (None, None)),
        ("fluid", "L", (50_000, 80_000)),
        # 5.00 and 8.00 a millilitre are 5,000.00 and 8,000.00 a litre
        ("fluid", "ml", (50_000_000, 80_000_000)),
        ("fluid", "set", (None, None)),
    ],
)
def test_plan_gives_the_price_of_a_counted_unit(
    kind: str, unit: str, expected: tuple[int | None, int | None]
) -> None:
    line = QuoteLine(kind=kind, unit=unit, unit_cost_e4=50_000, unit_price_e4=80_000)

    frozen = frozen_from_plan(line)

    assert (frozen["unit_cost_e4"], frozen["unit_price_e4"]) == expected
    assert frozen["price_rule"] == ("planned by the piece" if expected[1] is None else "as agreed")


def test_plan_without_a_cost_stays_without() -> None:
    frozen = frozen_from_plan(QuoteLine(kind="fluid", unit="ml", unit_cost_e4=None, unit_price_e4=1))

    assert (frozen["unit_cost_e4"], frozen["unit_price_e4"]) == (None, 1_000)


@pytest.mark.parametrize(
    ("discount", "rule"),
    [
        (1, "as agreed, before 0.01 % discount"),
        (1_000, "as agreed, before 10 % discount"),
        (10_000, "as agreed, before 100 % discount"),
    ],
)
def test_rule_tells_the_discount(discount: int, rule: str) -> None:
    line = QuoteLine(kind="part", unit="each", unit_price_e4=1, discount_e4=discount)

    assert frozen_from_plan(line)["price_rule"] == rule


def test_nothing_known_gives_nothing() -> None:
    assert extra_price(None) == {"unit_cost_e4": None, "unit_price_e4": None, "price_rule": ""}


def test_bands_are_read_from_the_cheapest(shop: Shop) -> None:
    MarkupBand.objects.create(up_to_e4=100_000, markup_e4=10_000)

    # 10.00 lies in the new band and doubles; 10.01 and 60 % is 16.016, half up 16.02
    assert [extra_price(Decimal(cost))["unit_price_e4"] for cost in ("10.00", "10.01")] == [200_000, 160_200]


def test_schedule_without_an_open_band_says_so(shop: Shop) -> None:
    MarkupBand.objects.filter(up_to_e4=None).delete()

    frozen = extra_price(Decimal("3.20"))

    assert (frozen["unit_cost_e4"], frozen["unit_price_e4"]) == (32_000, None)
    assert frozen["price_rule"] == (
        'markup schedule: "1" is not accepted. Give bands of which the last has no upper end.'
    )


def test_long_rule_is_cut_to_its_column(shop: Shop) -> None:
    MarkupBand.objects.all().delete()
    MarkupBand.objects.create(up_to_e4=None, markup_e4=6_000)

    frozen = extra_price(Decimal("999999.1234"))

    assert len(frozen["price_rule"]) <= 200
    # 999,999.1234 x 1.6 = 1,599,998.59744
    assert frozen["unit_price_e4"] == 15_999_986_000


def test_usual_rate_prices_an_hour(shop: Shop) -> None:
    LabourRate.objects.create(name="Dock call", sell_rate_e4=2_000_000)

    assert usual_labour_price() == {
        "unit_cost_e4": None,
        "unit_price_e4": 1_200_000,
        "price_rule": "usual rate: Shop labour",
    }
