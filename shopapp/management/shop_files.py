"""Reads a shop's founding facts and its people from a JSON file (see fixtures/demo_shop.json)."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from shopapp.actions.people import PersonInput
from shopapp.actions.shop import FoundingInput, TaxInput

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


def _tax(facts: Facts) -> TaxInput:
    return TaxInput(
        name=facts["name"],
        kinds=facts["kinds"],
        rates=[(name, Decimal(share)) for name, share in facts["rates"]],
        valid_from=date.fromisoformat(facts["valid_from"]),
    )


def _decimal(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)
