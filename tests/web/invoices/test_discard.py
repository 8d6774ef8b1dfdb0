"""A draft is thrown away."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Invoice, Person
from tests.factories.invoices import Planned, drafted

SignedIn = Callable[[Person], Client]
ByPerson = Callable[[Person], Actor]
Key = Callable[[], dict[str, str]]
LABOUR = Planned(kind="labour", description="Fit it", number="", unit="h", unit_price_e4=1_200_000)


@pytest.fixture
def draft(ilse: Person, by: ByPerson) -> Invoice:
    return drafted([Planned(), LABOUR], by=by(ilse))


@pytest.mark.parametrize("version", ["", "x", "-1", "9" * 20])
def test_version_that_is_none_is_refused(
    version: str, draft: Invoice, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    response = signed_in(ilse).post(f"/invoices/{draft.pk}/discard/", {"version": version} | key())

    assert (response.status_code, Invoice.objects.count()) == (422, 1)
