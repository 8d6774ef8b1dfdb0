"""A shop is founded once, from complete facts."""

import json
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import pytest

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.refusals import Refused
from shopapp.actions.shop import FoundingInput, found_shop
from shopapp.calc.errors import BadInput
from shopapp.management.shop_files import founding_input
from shopapp.models import Activity, KindTax, Shop
from shopapp.queries.shop import treatments_at
from tests.side_by_side import outcomes

pytestmark = pytest.mark.django_db
BY = Actor(scope=Scope.SYSTEM, at=datetime(2026, 6, 1, tzinfo=UTC))


@pytest.fixture
def facts() -> FoundingInput:
    return founding_input(json.loads(Path("fixtures/demo_shop.json").read_text())["shop"])


def test_found_shop_writes_settings_and_taxes(facts: FoundingInput) -> None:
    shop = found_shop(facts, by=BY)

    parts_tax = KindTax.objects.get(kind="part").tax_code_id
    treatment = treatments_at(date(2026, 6, 1))[parts_tax]
    assert (shop.currency, shop.consent_version) == ("CAD", "1")
    assert [(c.name, c.rate) for c in treatment.components] == [
        ("Federal", Decimal("0.05")),
        ("Provincial", Decimal("0.07")),
    ]
    assert list(Activity.objects.values_list("verb", flat=True)) == ["found shop"]


def test_found_shop_refuses_a_second_shop(facts: FoundingInput) -> None:
    found_shop(facts, by=BY)

    with pytest.raises(Refused, match="there already"):
        found_shop(facts, by=BY)

    assert Shop.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_shop_founded_at_the_same_moment_is_refused(facts: FoundingInput) -> None:
    ends = outcomes([lambda: found_shop(facts, by=BY)] * 4)

    refused = [str(end) for end in ends if isinstance(end, Refused)]
    assert refused == ["The shop is there already."] * 3
    assert (Shop.objects.count(), Activity.objects.count()) == (1, 1)


def test_found_shop_refuses_a_seventh_decimal(facts: FoundingInput) -> None:
    first = replace(facts.taxes[0], rates=[("Federal", Decimal("0.0512345"))])

    with pytest.raises(BadInput) as error:
        found_shop(replace(facts, taxes=[first, *facts.taxes[1:]]), by=BY)

    assert str(error.value) == 'tax rate: "0.0512345" is not accepted. Give a number with at most 6 decimals.'
    assert Shop.objects.count() == 0


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"currency": "XXQ"}, "currency"),
        ({"locale": "tlh_QQ_x"}, "locale"),
        ({"time_zone": "Mars/Olympus"}, "time zone"),
        ({"taxes": []}, "taxes"),
    ],
)
def test_found_shop_names_the_field_it_refuses(
    facts: FoundingInput, change: dict[str, object], field: str
) -> None:
    with pytest.raises(BadInput) as refusal:
        found_shop(replace(facts, **change), by=BY)

    assert refusal.value.field == field
    assert Shop.objects.count() == 0
