"""The page of a sale over the counter: the parts to choose from, and what is sold so far."""

from collections.abc import Sequence
from dataclasses import dataclass

from shopapp.models import InvoiceLine, InvoiceTax, Part
from shopapp.queries.shop import the_shop
from shopapp.queries.shop_texts import texts_of

MOST_PARTS = 500


@dataclass(frozen=True, kw_only=True)
class PartChoice:
    """A part of the list, as the number field offers it."""

    number: str
    words: str


@dataclass(frozen=True, kw_only=True)
class SoldRow:
    """A line of the sale, ready to show."""

    description: str
    quantity: str
    unit_price: str
    amount: str


@dataclass(frozen=True, kw_only=True)
class SalePage:
    """What to choose from, and the sums once they are known (empty before)."""

    parts: tuple[PartChoice, ...]
    rows: tuple[SoldRow, ...]
    taxes: tuple[tuple[str, str], ...]
    total: str


def sale_page(
    *, lines: Sequence[InvoiceLine], taxes: Sequence[InvoiceTax], total_minor: int | None
) -> SalePage:
    """The page; two queries, whatever is sold."""
    texts = texts_of(the_shop())
    parts = Part.objects.filter(is_active=True).order_by("number")[:MOST_PARTS]
    return SalePage(
        parts=tuple(
            PartChoice(
                number=part.number,
                words=" · ".join(
                    filter(
                        None,
                        [
                            part.description,
                            texts.price(part.unit_price_e4) if part.unit_price_e4 is not None else "",
                        ],
                    )
                ),
            )
            for part in parts
        ),
        rows=tuple(
            SoldRow(
                description=line.description,
                quantity=texts.quantity(line.quantity_milli, line.unit),
                unit_price=texts.price(line.unit_price_e4),
                amount=texts.money(line.amount_minor),
            )
            for line in lines
        ),
        taxes=tuple(
            (f"{tax.name} {texts.percent(tax.rate_e6)}".strip(), texts.money(tax.tax_minor)) for tax in taxes
        ),
        total=texts.money(total_minor) if total_minor is not None else "",
    )
