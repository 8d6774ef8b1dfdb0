"""Only what stands on the draft is billed; what was finished since waits."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Invoice, Person
from tests.factories.invoices import Planned, drafted, finished_job

SignedIn = Callable[[Person], Client]
ByPerson = Callable[[Person], Actor]
Key = Callable[[], dict[str, str]]
LABOUR = Planned(kind="labour", description="Fit it", number="", unit="h", unit_price_e4=1_200_000)


@pytest.fixture
def draft(ilse: Person, by: ByPerson) -> Invoice:
    return drafted([Planned(), LABOUR], by=by(ilse))


def test_keep_lets_the_draft_be_issued(draft: Invoice, ilse: Person, signed_in: SignedIn, key: Key) -> None:
    client = signed_in(ilse)
    finished_job(work_order=draft.work_order)
    page = client.get(f"/invoices/{draft.pk}/check/").content.decode()
    assert "Work changed since this draft was made" in page
    assert client.post(f"/invoices/{draft.pk}/issue/", key()).status_code == 409

    client.post(f"/invoices/{draft.pk}/keep/", {"version": "1"} | key())

    assert client.post(f"/invoices/{draft.pk}/issue/", key()).status_code == 302
    assert Invoice.objects.get().without_tax_minor == 18_500
