"""The intake sheet is printed as a draft, and frozen once it is signed."""

import io
from collections.abc import Callable

import pytest
from django.test import Client
from django.utils import timezone
from pypdf import PdfReader

from shopapp.models import Intake, Person, WorkOrder
from tests.factories.intakes import signed

pytestmark = pytest.mark.django_db(transaction=True)
SignedIn = Callable[[Person], Client]


def words_of(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages).split())


def test_sheet_is_a_draft_until_it_is_signed(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, terms: Intake
) -> None:
    client = signed_in(ilse)

    draft = client.get(f"/arrivals/{visit.pk}/sheet/")
    signed(terms, ilse, at=timezone.now())
    final = client.get(f"/arrivals/{visit.pk}/sheet/")

    assert (draft.status_code, draft["Content-Type"]) == (200, "application/pdf")
    assert draft["Content-Disposition"] == 'inline; filename="W-00012-intake.pdf"'
    assert ["not signed yet" in words_of(one.content) for one in (draft, final)] == [True, False]
    assert "Anna Berg" in words_of(final.content)


def test_visit_without_terms_has_no_sheet(ilse: Person, signed_in: SignedIn, visit: WorkOrder) -> None:
    assert signed_in(ilse).get(f"/arrivals/{visit.pk}/sheet/").status_code == 409
