"""The page to look at before a draft is issued."""

import re
from collections.abc import Callable

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shopapp.actions.actor import Actor
from shopapp.actions.invoices import draft_invoice
from shopapp.models import Intake, Invoice, Job, Person, PriceKind, Stage
from tests.factories import WorkOrderFactory
from tests.factories.invoices import DECIDED_AT, Planned, drafted, finished_job
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


def logged(job: Job, what: str, *, by: Actor, planned: bool = False) -> None:
    """A part of 5.00, on the first planned line or on none."""
    job.partuseds.create(
        description=what,
        quantity_milli=1_000,
        unit_price_e4=50_000,
        plan_line=job.choices.get().options.get().lines.first() if planned else None,
        logged_by=by.person,
        happened_at=by.at,
        recorded_at=by.at,
    )


def cells_of(content: str, section: str) -> list[str]:
    """What stands in the cells or points of a section."""
    text = content.partition(f'id="{section}"')[2].partition("</section>")[0]
    return re.findall(r"<(?:td|li)\b[^>]*>([^<]+?) ?<", text)


def test_where_plan_and_book_do_not_meet_is_shown(
    ilse: Person, tobiah: Person, by: ByPerson, signed_in: SignedIn
) -> None:
    job = finished_job([Planned(description="Impeller"), LABOUR], price_kind=PriceKind.CEILING)
    logged(job, "Impeller", by=by(tobiah), planned=True)
    logged(job, "Hose clamp", by=by(tobiah))
    draft = draft_invoice(job.work_order_id, by=by(ilse))

    content = signed_in(ilse).get(f"/invoices/{draft.pk}/check/").content.decode()

    assert cells_of(content, "invoice-not-logged") == [
        "Fit it",
        "Job 1: Gear oil looks milky",
        "0.00 of 1.000 h",
    ]
    assert cells_of(content, "invoice-not-planned") == ["Hose clamp"]


@pytest.mark.parametrize("jobs", [1, 5])
def test_check_takes_fifteen_queries(
    ilse: Person, tobiah: Person, by: ByPerson, signed_in: SignedIn, jobs: int
) -> None:
    visit = WorkOrderFactory.create(stage=Stage.READY)
    Intake.objects.create(
        work_order=visit,
        diagnosis_fee_minor=8_000,
        created_at=DECIDED_AT,
        signed_at=DECIDED_AT,
        signed_how="paper",
        signed_name="Aud Nilsen",
        shown_sha256="0" * 64,
        signed_sha256="0" * 64,
    )
    for place in range(jobs):
        kind = (PriceKind.CEILING, PriceKind.FIXED, PriceKind.TIME_AND_MATERIAL)[place % 3]
        job = finished_job([Planned(), LABOUR], work_order=visit, price_kind=kind)
        for number in range(jobs):
            logged(job, f"Clamp {number}", by=by(tobiah))
            logged(job, f"Set {number}", by=by(tobiah), planned=True)
    draft = draft_invoice(visit.pk, by=by(ilse))
    client = signed_in(ilse)

    with CaptureQueriesContext(connection) as taken:
        answer = client.get(f"/invoices/{draft.pk}/check/")

    assert (answer.status_code, len(taken)) == (200, 15)
