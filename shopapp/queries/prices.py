"""How a row of the actual book gets its price: from the plan, by markup, or by the usual labour rate."""

from decimal import Decimal
from typing import TypedDict

from django.db.models import F
from django.utils.translation import gettext as _

from shopapp.calc.errors import BadInput
from shopapp.calc.money import from_e4, to_e4
from shopapp.calc.pricing import Band, Basis, PriceRule, price_part
from shopapp.models import FeeRate, LabourRate, LineKind, MarkupBand, Part, QuoteLine, Unit

WHOLE_SHARE = 10_000
LONGEST_RULE = 200
# how many of a line's unit make the one unit that the actual book counts in
UNITS_IN_ONE: dict[str, dict[str, int]] = {
    LineKind.LABOUR: {Unit.HOUR: 1},
    LineKind.FLUID: {Unit.LITRE: 1, Unit.MILLILITRE: 1000},
}


class Frozen(TypedDict):
    """What a row keeps for ever: cost and price of one unit in 1/10,000 (None: not known), and the rule."""

    unit_cost_e4: int | None
    unit_price_e4: int | None
    price_rule: str


def frozen_from_plan(line: QuoteLine) -> Frozen:
    """Cost, price and rule of a row that was used as planned, for the unit its row counts in. No query.

    Time counts in hours and fluids in litres; a line of labour or fluid that is sold by the piece or the
    set gives no price for those, and the rule says so.
    """
    factor = UNITS_IN_ONE[line.kind].get(line.unit) if line.kind in UNITS_IN_ONE else 1
    if factor is None:
        return {"unit_cost_e4": None, "unit_price_e4": None, "price_rule": _("planned by the piece")}
    return {
        "unit_cost_e4": None if line.unit_cost_e4 is None else line.unit_cost_e4 * factor,
        "unit_price_e4": line.unit_price_e4 * factor,
        "price_rule": _plan_rule(line),
    }


def _plan_rule(line: QuoteLine) -> str:
    if line.discount_e4:
        share = f"{(Decimal(line.discount_e4) / 100).normalize():f}"
        return _("as agreed, before %(share)s %% discount") % {"share": share}
    return _("as agreed")


def extra_price(cost: Decimal | None) -> Frozen:
    """Cost, price and rule of extra work: the shop's markup on the cost; empty without a cost.

    The rule is the sentence of ``calc.pricing.price_part``. One query. A shop without a whole markup
    schedule gets no price, and the rule says so.
    """
    if cost is None:
        return {"unit_cost_e4": None, "unit_price_e4": None, "price_rule": ""}
    cost_e4 = to_e4(cost, field="unit_cost")
    try:
        priced = price_part(cost, rule=PriceRule(basis=Basis.COST, bands=_bands()))
    except BadInput as error:
        return {"unit_cost_e4": cost_e4, "unit_price_e4": None, "price_rule": str(error)[:LONGEST_RULE]}
    price_e4 = to_e4(priced.unit_price, field="price")
    return {"unit_cost_e4": cost_e4, "unit_price_e4": price_e4, "price_rule": priced.why[:LONGEST_RULE]}


def list_price(part: Part, *, factor: int = 1) -> Frozen:
    """Cost, price and rule of a part of the shop's list: its own price, else the markup on its cost.

    ``factor`` says how many of the part's unit make the one that the row counts in. One query at most.
    """
    cost_e4 = None if part.unit_cost_e4 is None else part.unit_cost_e4 * factor
    if part.unit_price_e4 is None:
        return extra_price(None if cost_e4 is None else from_e4(cost_e4))
    return {
        "unit_cost_e4": cost_e4,
        "unit_price_e4": part.unit_price_e4 * factor,
        "price_rule": _("price of the parts list"),
    }


def own_part_price() -> Frozen:
    """A part that the customer brought costs neither of them anything. No query."""
    return {"unit_cost_e4": 0, "unit_price_e4": 0, "price_rule": _("the customer's own part")}


def fee_price(rate: FeeRate) -> Frozen:
    """What the shop usually asks for a fee. No query."""
    return {
        "unit_cost_e4": None,
        "unit_price_e4": rate.unit_price_e4,
        "price_rule": _("usual fee: %s") % rate.name,
    }


def hand_price(price: Decimal, *, cost_e4: int | None = None) -> Frozen:
    """A price that somebody at the desk set, whatever the cost. No query."""
    price_e4 = to_e4(price, field="unit_price")
    return {"unit_cost_e4": cost_e4, "unit_price_e4": price_e4, "price_rule": _("set by hand")}


def _bands() -> tuple[Band, ...]:
    rows = MarkupBand.objects.order_by(F("up_to_e4").asc(nulls_last=True))
    return tuple(
        Band(
            up_to=None if row.up_to_e4 is None else from_e4(row.up_to_e4),
            markup=Decimal(row.markup_e4) / WHOLE_SHARE,
        )
        for row in rows
    )


def usual_labour_price() -> Frozen:
    """Price and rule of an hour that no plan line names; empty when the shop has no usual rate. One query."""
    rate = LabourRate.objects.filter(is_usual=True).first()
    if rate is None:
        return {"unit_cost_e4": None, "unit_price_e4": None, "price_rule": ""}
    rule = _("usual rate: %s") % rate.name
    return {"unit_cost_e4": None, "unit_price_e4": rate.sell_rate_e4, "price_rule": rule}
