"""Reads a shop's founding facts and its people from a JSON file (see fixtures/demo_shop.json)."""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from shopapp.actions.parts import PartInput
from shopapp.actions.people import PersonInput
from shopapp.actions.shop import FoundingInput, TaxInput
from shopapp.actions.shop_terms import FeeRateInput, TermsInput
from shopapp.models import Unit

Facts = Mapping[str, Any]


def founding_input(facts: Facts) -> FoundingInput:
    """The ``shop`` part of a file; amounts are texts. Raises KeyError for what is missing."""
    return FoundingInput(
        name=facts["name"],
        address=facts["address"],
        phone=facts["phone"],
        tax_number=facts["tax_number"],
        currency=facts["currency"],
        locale=facts["locale"],
        time_zone=facts["time_zone"],
        paper=facts["paper"],
        consent_text=facts["consent_text"],
        warranty_terms=facts["warranty_terms"],
        labour_rate=Decimal(facts["labour_rate"]),
        taxes=[_tax(tax) for tax in facts["taxes"]],
        markups=[(_decimal(up_to), Decimal(share)) for up_to, share in facts["markups"]],
        terms=_terms(facts.get("terms", {})),
        fees=[_fee(fee) for fee in facts.get("fees", ())],
    )


def person_input(facts: Facts, *, password: str) -> PersonInput:
    """One of the ``people`` of a file, with the password that was made for them."""
    return PersonInput(
        username=facts["username"],
        name=facts["name"],
        roles=tuple(facts["roles"]),
        password=password,
        wage=_decimal(facts.get("wage")),
        burden=Decimal(facts.get("burden", "0")),
        wage_from=date(2020, 1, 1),
    )


def part_input(facts: Sequence[Any]) -> PartInput:
    """One of the ``parts`` of a file: number, description, unit, cost, price (none: by markup)."""
    number, description, unit, cost, price = facts
    return PartInput(
        number=number,
        description=description,
        unit=Unit(unit),
        unit_cost=_decimal(cost),
        unit_price=_decimal(price),
    )


def _terms(facts: Facts) -> TermsInput:
    """The ``terms`` of a shop by the names of ``TermsInput``; amounts and shares are texts."""
    amounts = ("diagnosis_fee", "spending_limit", "minimum_charge", "over_agreed")
    values: Facts = {name: Decimal(value) if name in amounts else value for name, value in facts.items()}
    return TermsInput(**values)


def _fee(facts: Sequence[str]) -> FeeRateInput:
    """One of the ``fees`` of a shop: name, kind, unit, price."""
    name, kind, unit, price = facts
    return FeeRateInput(name=name, kind=kind, unit=unit, unit_price=Decimal(price))


def _tax(facts: Facts) -> TaxInput:
    return TaxInput(
        name=facts["name"],
        kinds=facts["kinds"],
        rates=[(name, Decimal(share)) for name, share in facts["rates"]],
        valid_from=date.fromisoformat(facts["valid_from"]),
    )


def _decimal(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)
