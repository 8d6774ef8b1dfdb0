"""Sums over content that was frozen, by the rules and taxes that were frozen with it; no query."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from shopapp.calc.money import Rounding
from shopapp.calc.tax import TaxComponent, TaxLevel, TaxTreatment
from shopapp.calc.totals import Line, Rules, Totals, document_totals, share_off
from shopapp.models import Payer

type Content = dict[str, Any]
type Facts = dict[str, Any]


def chosen_totals(content: Content, *, options: Collection[int]) -> Totals:
    """The document totals over exactly the customer's lines of these options, totalled anew with discount."""
    facts = content["facts"]
    treatments = treatments_from(facts)
    lines = [
        Line(
            quantity=Decimal(line["quantity"]),
            unit_price=Decimal(line["unit_price"]),
            discount=Decimal(line["discount"]),
            tax=treatments[line["tax_code"]],
        )
        for option in options_in(content)
        if option["option"] in options
        for line in option["lines"]
        if line["payer"] == Payer.CUSTOMER
    ]
    return totals_less(lines, content, facts=facts)


def totals_less(lines: Sequence[Line], discount: Mapping[str, Any], *, facts: Facts) -> Totals:
    """Totals of these lines less the document's discount; content of the first schema knows none."""
    rules, share = rules_from(facts), Decimal(discount.get("discount", "0"))
    reason = discount.get("discount_reason", "")
    return document_totals(
        lines, rules=rules, allowances=share_off(lines, share=share, reason=reason, rules=rules)
    )


def options_in(content: Content) -> Iterable[Content]:
    """Every option of every job."""
    return (option for job in content["jobs"] for option in job["options"])


def rules_from(facts: Mapping[str, Any]) -> Rules:
    """The rules of sums that were frozen."""
    rules = facts["rules"]
    return Rules(
        currency=rules["currency"],
        rounding=Rounding(rules["rounding"]),
        tax_level=TaxLevel(rules["tax_level"]),
        prices_include_tax=rules["prices_include_tax"],
    )


def treatments_from(facts: Mapping[str, Any]) -> Mapping[int, TaxTreatment]:
    """Tax code id → treatment, as frozen."""
    return {
        int(pk): TaxTreatment(
            code=tax["code"],
            category=tax["category"],
            components=tuple(
                TaxComponent(name=one["name"], rate=Decimal(one["rate"]), compounds=one["compounds"])
                for one in tax["components"]
            ),
            exemption_reason=tax["reason"],
        )
        for pk, tax in facts["taxes"].items()
    }
