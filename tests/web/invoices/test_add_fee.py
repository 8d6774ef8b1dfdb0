"""A fee that no book has is added to a draft; its form and that of the draft take no nonsense."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Invoice, Person
from tests.factories.invoices import Planned, drafted
from tests.web.shared.hostile import troubles_with_bad_values

SignedIn = Callable[[Person], Client]
ByPerson = Callable[[Person], Actor]
Key = Callable[[], dict[str, str]]
LABOUR = Planned(kind="labour", description="Fit it", number="", unit="h", unit_price_e4=1_200_000)


@pytest.fixture
def draft(ilse: Person, by: ByPerson) -> Invoice:
    return drafted([Planned(), LABOUR], by=by(ilse))


@pytest.mark.parametrize(
    ("name", "good", "fields"),
    [
        ("edit", {"purchase_order": "x", "discount": "x"}, ("purchase_order", "discount", "discount_reason")),
        (
            "add-fee",
            {"description": "x", "quantity": "x", "unit": "each", "unit_price": "1"},
            ("description", "unit_price", "unit", "note"),
        ),
    ],
)
def test_forms_survive_every_bad_value(
    name: str,
    good: dict[str, str],
    fields: tuple[str, ...],
    draft: Invoice,
    ilse: Person,
    signed_in: SignedIn,
    key: Key,
) -> None:
    found = troubles_with_bad_values(
        signed_in(ilse),
        f"/invoices/{draft.pk}/{name}/",
        good=lambda: good | {"version": "1"} | key(),
        fields=fields,
        hidden=("unit",),
    )

    assert found == []
