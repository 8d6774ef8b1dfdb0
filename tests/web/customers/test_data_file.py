"""Everything about one customer in one file: data, safe tables, papers, photos, and nobody else's."""

import csv
import io
import json
import logging
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Customer, Invoice, Job, Person, Photo, StoredPaper
from tests.factories import CustomerFactory
from tests.factories.invoices import PLANTED_COST_E4
from tests.factories.jobs import stored
from tests.factories.persons import PHONE, somebody

pytestmark = pytest.mark.django_db

FORMULA = "=HYPERLINK(1)"


@pytest.fixture
def owner(maren: Person, by: Callable[[Person], Actor]) -> Actor:
    return by(maren)


def archive_of(client: Client, customer: Customer) -> zipfile.ZipFile:
    response = client.get(f"/customers/{customer.pk}/data-file/")
    assert (response.status_code, response.headers["Content-Type"]) == (200, "application/zip")
    assert response.streaming
    return zipfile.ZipFile(io.BytesIO(response.getvalue()))


def test_file_holds_everything_about_them(
    owner: Actor, maren: Person, signed_in: Callable[[Person], Client]
) -> None:
    customer = somebody(by=owner, is_billed=True)
    Customer.objects.filter(pk=customer.pk).update(note=FORMULA)
    CustomerFactory.create(name="Pia Lindqvist")
    job = Job.objects.get(work_order__customer=customer)
    Photo.objects.create(
        work_order=job.work_order, job=job, taken_by=maren, taken_at=owner.at, **vars(stored("red"))
    )
    bill = Invoice.objects.get()
    papers = Path(settings.PAPER_DIR)
    papers.mkdir(parents=True)
    (papers / f"{'1' * 64}.pdf").write_bytes(b"%PDF-1.7 as it was made")
    StoredPaper.objects.create(
        document="invoice", content_sha256=bill.shown_sha256, pdf_sha256="1" * 64, made_at=owner.at
    )

    archive = archive_of(signed_in(maren), customer)

    data = json.loads(archive.read("data.json"))
    assert data["customer"][0]["phone"] == PHONE
    assert [row["total_minor"] for row in data["invoices"]] == [bill.total_minor]
    lengths = {name: len(rows) for name, rows in data.items()}
    assert (lengths["calls"], lengths["answers"], lengths["terms"], lengths["payments"]) == (1, 1, 1, 1)
    assert archive.read(f"papers/{bill.number}.pdf") == b"%PDF-1.7 as it was made"
    assert [name for name in archive.namelist() if name.startswith("photos/")]
    whole = b"".join(archive.read(name) for name in archive.namelist())
    assert (b"Pia Lindqvist" in whole, str(PLANTED_COST_E4).encode() in whole) == (False, False)


def test_every_list_is_a_safe_table_as_well(
    owner: Actor, maren: Person, signed_in: Callable[[Person], Client]
) -> None:
    customer = somebody(by=owner, is_billed=False)
    Customer.objects.filter(pk=customer.pk).update(note=FORMULA)

    archive = archive_of(signed_in(maren), customer)

    data = json.loads(archive.read("data.json"))
    assert data["customer"][0]["note"] == FORMULA
    for name, rows in data.items():
        table = archive.read(f"tables/{name}.csv").decode("utf-8-sig")
        assert len(list(csv.reader(io.StringIO(table, newline="")))) == len(rows) + 1
    assert f'"\'{FORMULA}"' in archive.read("tables/customer.csv").decode()


def test_who_took_it_is_logged_without_a_name(
    *, owner: Actor, maren: Person, signed_in: Callable[[Person], Client], caplog: pytest.LogCaptureFixture
) -> None:
    customer = somebody(by=owner, is_billed=False)

    with caplog.at_level(logging.INFO, logger="shopapp.access"):
        archive_of(signed_in(maren), customer)

    [said] = [one.getMessage() for one in caplog.records if "data_file" in one.getMessage()]
    assert said == f"sent GET customers:data_file to person:{maren.pk} at 127.0.0.1"
