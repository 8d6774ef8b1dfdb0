"""What planned lines cost and leave, for the owner alone."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from django.utils.translation import ngettext

from shopapp.calc.money import from_e4, from_milli, round_money
from shopapp.calc.pricing import margin_of
from shopapp.calc.totals import Adjustment, document_totals, share_off
from shopapp.models import Payer, QuoteLine, QuoteRevision
from shopapp.queries.frozen_sums import rules_from, treatments_from
from shopapp.queries.quote_facts import Facts
from shopapp.queries.shown import money_words, share_words


@dataclass(frozen=True, kw_only=True)
class Margin:
    """What something costs and leaves, for the owner alone; ``missing`` says how many costs are not known."""

    cost: str
    margin: str
    share: str
    missing: str = ""


def margin_words(rows: Sequence[QuoteLine], *, discount: QuoteRevision | None, facts: Facts) -> Margin:
    """Price without tax (what the shop gives away brings nothing in) less the costs of all lines.

    The discount on the whole comes off what the customer pays; a line by itself is shown before it. There
    is no margin while a line has no cost: it would count as pure profit.
    """
    rules = rules_from(facts)
    price = price_without_tax(rows, discount=discount, facts=facts)
    exact = cost_of(rows)
    cost = round_money(exact, currency=rules.currency, rounding=rules.rounding)
    unknown = sum(row.unit_cost_e4 is None for row in rows)
    is_known = unknown == 0 and bool(rows)
    return Margin(
        cost=money_words(cost, facts=facts) if unknown < len(rows) else "–",
        margin=money_words(price - cost, facts=facts) if is_known else "–",
        share=share_words(margin_of(price, cost=cost), facts=facts) if is_known and price > 0 else "",
        missing=_missing_words(unknown),
    )


def price_without_tax(rows: Sequence[QuoteLine], *, discount: QuoteRevision | None, facts: Facts) -> Decimal:
    """What the customer and others but the shop pay for the lines, without tax."""
    rules, treatments = rules_from(facts), treatments_from(facts)
    paid = [row for row in rows if row.payer != Payer.SHOP]
    off: tuple[Adjustment, ...] = ()
    if discount is not None:
        theirs = [row.as_line(treatments) for row in paid if row.payer == Payer.CUSTOMER]
        share = Decimal(discount.discount_e4) / 10_000
        off = share_off(theirs, share=share, reason=discount.discount_reason, rules=rules)
    lines = [row.as_line(treatments) for row in paid]
    return document_totals(lines, rules=rules, allowances=off).without_tax


def cost_of(rows: Sequence[QuoteLine]) -> Fraction:
    """What these lines cost the shop, those without a cost as nothing."""
    return sum((_exact_cost(row) for row in rows), Fraction(0))


def _exact_cost(row: QuoteLine) -> Fraction:
    if row.unit_cost_e4 is None:
        return Fraction(0)
    return Fraction(from_milli(row.quantity_milli)) * Fraction(from_e4(row.unit_cost_e4))


def _missing_words(unknown: int) -> str:
    if not unknown:
        return ""
    return ngettext("%(lines)d line has no cost", "%(lines)d lines have no cost", unknown) % {
        "lines": unknown
    }
