"""The customer's copy of the intake sheet."""

import io

import pytest
from django.test import Client
from django.utils import timezone
from pypdf import PdfReader

from shopapp.models import Person
from tests.factories.intakes import opened, unsigned

pytestmark = pytest.mark.django_db(transaction=True)


def test_customer_takes_a_copy(ilse: Person) -> None:
    intake = unsigned(at=timezone.now())
    _link, token = opened(intake, ilse, at=timezone.now())
    browser = Client()
    browser.get(f"/approvals/intake/enter/{token}/")

    response = browser.get("/approvals/intake/intake-paper/")

    words = " ".join(PdfReader(io.BytesIO(response.content)).pages[0].extract_text().split())
    assert (response.status_code, response["Cache-Control"]) == (200, "no-store")
    assert (intake.work_order.number in words, "not signed yet" in words) == (True, True)
