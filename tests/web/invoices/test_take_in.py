"""A row that was left out is taken in again."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Invoice, Person
from tests.factories.invoices import Planned, drafted
from tests.web.pages import values_of

SignedIn = Callable[[Person], Client]
ByPerson = Callable[[Person], Actor]
Key = Callable[[], dict[str, str]]
LABOUR = Planned(kind="labour", description="Fit it", number="", unit="h", unit_price_e4=1_200_000)


@pytest.fixture
def draft(ilse: Person, by: ByPerson) -> Invoice:
    return drafted([Planned(), LABOUR], by=by(ilse))


def test_line_left_out_is_offered_and_taken_in(
    draft: Invoice, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    client, line = signed_in(ilse), draft.lines.get(position=1)

    client.post(f"/invoices/line/{line.pk}/leave-out/", {"version": "1"} | key())

    page = client.get(f"/invoices/{draft.pk}/check/")
    assert list(values_of(page, "rows")) == [f"plan_line:{line.plan_line_id}"]
    assert "Gasket set" in page.content.decode()
    sent = {"version": "2", "rows": f"plan_line:{line.plan_line_id}"} | key()
    assert client.post(f"/invoices/{draft.pk}/take-in/", sent).status_code == 302
    assert Invoice.objects.get().without_tax_minor == 18_500


@pytest.mark.parametrize("rows", ["", "plan_line:999999", "payment:1", "plan_line:x", "'; drop"])
def test_rows_that_may_not_be_billed_are_refused(
    rows: str, draft: Invoice, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    response = signed_in(ilse).post(f"/invoices/{draft.pk}/take-in/", {"version": "1", "rows": rows} | key())

    assert (response.status_code, Invoice.objects.get().without_tax_minor) == (409, 18_500)
