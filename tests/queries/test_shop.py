"""The shop's rules for sums, its day, and the taxes in force on a day."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from shopapp.calc.errors import BadInput
from shopapp.calc.money import Rounding
from shopapp.calc.tax import TaxLevel
from shopapp.models import KindTax, Shop, TaxCode, TaxRate
from shopapp.queries.shop import end_of_day, local_day, rules_of, tax_code_of_kind, the_shop, treatments_at
from tests.factories import CustomerFactory

pytestmark = pytest.mark.django_db

DAY = date(2026, 6, 2)


def components(name: str, day: date = DAY) -> list[tuple[str, Decimal]]:
    """Names and rates of a code's taxes on a day."""
    treatment = treatments_at(day)[TaxCode.objects.get(name=name).pk]
    return [(component.name, component.rate) for component in treatment.components]


def test_the_shop_before_it_is_founded_is_refused() -> None:
    with pytest.raises(BadInput, match="name, address, currency and tax first"):
        the_shop()


def test_the_shop_is_the_one_row(shop: Shop) -> None:
    assert the_shop() == shop


@pytest.mark.parametrize("rounding", list(Rounding))
@pytest.mark.parametrize("level", list(TaxLevel))
@pytest.mark.parametrize("is_included", [False, True])
def test_rules_are_those_of_the_row(
    shop: Shop, rounding: Rounding, level: TaxLevel, is_included: bool
) -> None:
    shop.rounding, shop.tax_level, shop.prices_include_tax = rounding.value, level.value, is_included

    rules = rules_of(shop)

    assert (rules.currency, rules.rounding, rules.tax_level) == ("CAD", rounding, level)
    assert (rules.prices_include_tax, rules.cash_step) == (is_included, None)


# hours from UTC: Vancouver -8 and -7 in summer, Auckland +12 and +13 (tz database), Kathmandu +5:45
@pytest.mark.parametrize(
    ("zone", "moment", "day"),
    [
        ("America/Vancouver", datetime(2026, 6, 3, 6, 59, tzinfo=UTC), date(2026, 6, 2)),
        ("America/Vancouver", datetime(2026, 6, 3, 7, 0, tzinfo=UTC), date(2026, 6, 3)),
        ("America/Vancouver", datetime(2026, 1, 3, 7, 59, tzinfo=UTC), date(2026, 1, 2)),
        ("Pacific/Auckland", datetime(2026, 6, 2, 12, 0, tzinfo=UTC), date(2026, 6, 3)),
        ("Asia/Kathmandu", datetime(2026, 6, 2, 18, 15, tzinfo=UTC), date(2026, 6, 3)),
        ("Asia/Kathmandu", datetime(2026, 6, 2, 18, 14, tzinfo=UTC), date(2026, 6, 2)),
        ("UTC", datetime(2024, 2, 29, 23, 59, tzinfo=UTC), date(2024, 2, 29)),
    ],
)
def test_day_is_the_shops_own(shop: Shop, zone: str, moment: datetime, day: date) -> None:
    shop.time_zone = zone

    assert local_day(shop, moment) == day


def test_treatments_hold_the_rates_in_order(shop: Shop) -> None:
    assert components("Goods") == [("Federal", Decimal("0.05")), ("Provincial", Decimal("0.07"))]
    assert components("Labour") == [("Federal", Decimal("0.05"))]


@pytest.mark.parametrize(
    ("day", "rate"), [(date(2026, 6, 30), "0.05"), (date(2026, 7, 1), "0.06"), (date(2030, 1, 1), "0.06")]
)
def test_treatment_changes_on_its_day(shop: Shop, day: date, rate: str) -> None:
    code = TaxCode.objects.get(name="Labour")
    TaxRate.objects.filter(tax_code=code).update(valid_until_date=date(2026, 7, 1))
    TaxRate.objects.create(tax_code=code, name="Federal", rate_e6=60_000, valid_from_date=date(2026, 7, 1))

    assert components("Labour", day) == [("Federal", Decimal(rate))]


def test_exempt_customer_pays_no_tax_with_the_reason(shop: Shop) -> None:
    customer = CustomerFactory(
        is_tax_exempt=True, exemption_reason="First Nation, on reserve", exemption_number="0042"
    )

    treatments = treatments_at(DAY, customer=customer)

    shown = {(one.code, one.category, one.components, one.exemption_reason) for one in treatments.values()}
    reason = "First Nation, on reserve 0042"
    assert shown == {("Goods", "E", (), reason), ("Labour", "E", (), reason)}


def test_other_customer_is_taxed_as_anybody(shop: Shop) -> None:
    assert treatments_at(DAY, customer=CustomerFactory()) == treatments_at(DAY)


@pytest.mark.parametrize("codes", [1, 30])
def test_treatments_take_two_queries(shop: Shop, codes: int, django_assert_num_queries: object) -> None:
    for number in range(codes):
        code = TaxCode.objects.create(name=f"Code {number}")
        TaxRate.objects.create(tax_code=code, name="Tax", rate_e6=50_000, valid_from_date=date(2020, 1, 1))

    with django_assert_num_queries(2):
        treatments_at(DAY)


def test_kind_of_line_has_its_tax_code(shop: Shop) -> None:
    labour = TaxCode.objects.get(name="Labour")

    assert tax_code_of_kind("labour") == labour.pk


def test_kind_without_tax_code_is_refused_by_name(shop: Shop) -> None:
    KindTax.objects.filter(kind="fee").delete()

    with pytest.raises(BadInput, match="kind of line that has a tax code"):
        tax_code_of_kind("fee")


@pytest.mark.parametrize(
    ("zone", "day"),
    [
        ("America/Vancouver", date(2026, 3, 8)),
        ("America/Vancouver", date(2026, 11, 1)),
        # midnight itself is left out there, and comes twice
        ("America/Havana", date(2026, 3, 8)),
        ("America/Havana", date(2026, 11, 1)),
    ],
)
def test_days_meet_without_gap_when_the_clock_changes_t29(shop: Shop, zone: str, day: date) -> None:
    shop.time_zone = zone
    begin, end = end_of_day(shop, day - timedelta(days=1)), end_of_day(shop, day)

    minutes = [datetime(day.year, day.month, day.day, tzinfo=UTC) + timedelta(minutes=n) for n in range(3000)]

    assert [local_day(shop, one) == day for one in minutes] == [begin <= one < end for one in minutes]
