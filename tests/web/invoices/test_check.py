"""The page to look at before a draft is issued."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Invoice, Person
from tests.factories.invoices import Planned, drafted, finished_job
from tests.web.pages import fresh_key

SignedIn = Callable[[Person], Client]
ByPerson = Callable[[Person], Actor]
Key = Callable[[], dict[str, str]]
LABOUR = Planned(kind="labour", description="Fit it", number="", unit="h", unit_price_e4=1_200_000)


@pytest.fixture
def draft(ilse: Person, by: ByPerson) -> Invoice:
    return drafted([Planned(), LABOUR], by=by(ilse))


def test_held_rows_are_listed_with_their_reason(
    ilse: Person, tobiah: Person, by: ByPerson, signed_in: SignedIn
) -> None:
    job = finished_job()
    job.partuseds.create(
        description="Hose clamp",
        quantity_milli=1_000,
        unit_price_e4=50_000,
        logged_by=tobiah,
        happened_at=by(tobiah).at,
        recorded_at=by(tobiah).at,
    )
    client = signed_in(ilse)
    draft = client.post(f"/invoices/for/{job.work_order_id}/draft/", fresh_key())

    page = client.get(f"{draft.headers['Location']}check/").content.decode()

    assert ("Hose clamp" in page, "not on the plan of a fixed price" in page) == (True, True)


def test_issued_invoice_has_no_draft_pages(
    draft: Invoice, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    client, line = signed_in(ilse), draft.lines.earliest("pk")
    client.post(f"/invoices/{draft.pk}/issue/", key())

    pages = [f"/invoices/{draft.pk}/{name}/" for name in ("check", "edit", "add-fee")]
    assert [client.get(page).status_code for page in (*pages, f"/invoices/line/{line.pk}/")] == [404] * 4
