"""What an hour of somebody costs, as the owner reads it."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from shopapp.calc.money import Rounding, quantize
from shopapp.models import Person, Wage
from shopapp.queries.shop import the_shop
from shopapp.queries.shop_texts import ShopTexts, texts_of

WHOLE_SHARE = 10_000
E6_IN_E4 = 100


@dataclass(frozen=True, kw_only=True)
class WageRow:
    """From a day on: the wage of an hour, the burden on top, and what that comes to."""

    since: str
    hourly: str
    burden: str
    cost: str
    is_now: bool


@dataclass(frozen=True, kw_only=True)
class WagesPage:
    """The wages of a person, the newest first."""

    pk: int
    name: str
    currency: str
    rows: tuple[WageRow, ...]


def cost_of_an_hour(wage: Wage) -> int:
    """Wage x (1 + burden) in 1/10,000, half up. Burden: common practice, no source."""
    exact = Fraction(wage.hourly_e4) * (WHOLE_SHARE + wage.burden_e4) / WHOLE_SHARE
    return int(quantize(exact, exponent=Decimal(1), mode=Rounding.HALF_UP.value))


def wages_page(person: Person, *, day: date) -> WagesPage:
    """Two queries."""
    shop = the_shop()
    texts, rows = texts_of(shop), list(Wage.objects.filter(person=person).order_by("-from_date"))
    now = next((row for row in rows if row.from_date <= day), None)
    return WagesPage(
        pk=person.pk,
        name=person.name,
        currency=shop.currency,
        rows=tuple(_row(row, texts=texts, is_now=row is now) for row in rows),
    )


def _row(wage: Wage, *, texts: ShopTexts, is_now: bool) -> WageRow:
    return WageRow(
        since=texts.day(wage.from_date),
        hourly=texts.price(wage.hourly_e4),
        burden=texts.percent(wage.burden_e4 * E6_IN_E4),
        cost=texts.price(cost_of_an_hour(wage)),
        is_now=is_now,
    )
