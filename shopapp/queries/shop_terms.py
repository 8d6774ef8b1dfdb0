"""The page on which the owner sets the shop's terms."""

from dataclasses import dataclass

from shopapp.calc.money import format_money, from_e4
from shopapp.models import FeeKind, FeeRate, Shop, Unit
from shopapp.queries.versions import Conflict


@dataclass(frozen=True, kw_only=True)
class FeeRow:
    """A fee that the shop usually asks."""

    pk: int
    name: str
    kind: str
    price: str


@dataclass(frozen=True, kw_only=True)
class TermsPage:
    """The list of fees beside the form; ``conflict`` when somebody else saved meanwhile."""

    currency: str
    fees: tuple[FeeRow, ...]
    conflict: Conflict | None


def terms_page(shop: Shop, *, conflict: Conflict | None = None) -> TermsPage:
    """One query, however many fees there are."""
    fees = FeeRate.objects.order_by("kind", "name")
    return TermsPage(
        currency=shop.currency, fees=tuple(_row(fee, shop=shop) for fee in fees), conflict=conflict
    )


def _row(fee: FeeRate, *, shop: Shop) -> FeeRow:
    price = format_money(from_e4(fee.unit_price_e4), currency=shop.currency, locale=shop.locale)
    unit = "" if fee.unit == Unit.EACH else f" / {Unit(fee.unit).label}"
    return FeeRow(pk=fee.pk, name=fee.name, kind=str(FeeKind(fee.kind).label), price=f"{price}{unit}")
