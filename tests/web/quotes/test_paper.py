"""The PDF of what was shown, for the shop."""

import pytest
from django.db import connection
from django.test import Client

from shopapp.documents.canonical import digest
from shopapp.models import QuoteRevision
from shopapp.triggers import apply_triggers, remove_triggers
from tests.web.pages import text_of

pytestmark = pytest.mark.django_db(transaction=True)


def test_paper_is_a_pdf_of_the_revision(front_desk: Client, sent: QuoteRevision) -> None:
    response = front_desk.get(f"/quotes/{sent.pk}/paper/")

    assert (response["Content-Type"], response.content[:5]) == ("application/pdf", b"%PDF-")
    assert response["Content-Disposition"] == 'inline; filename="Q-00001-1.pdf"'


def test_paper_of_draft_is_not_there(front_desk: Client, draft: QuoteRevision) -> None:
    assert front_desk.get(f"/quotes/{draft.pk}/paper/").status_code == 404


def test_paper_of_changed_rows_is_refused_t35(front_desk: Client, sent: QuoteRevision) -> None:
    remove_triggers(connection)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE shopapp_quoteline SET unit_price_e4 = 1")
    apply_triggers(connection)

    response = front_desk.get(f"/quotes/{sent.pk}/paper/")

    assert response.status_code == 409
    assert "no longer match what was shown" in text_of(response)


def test_paper_with_lost_photo_says_so(front_desk: Client, sent: QuoteRevision) -> None:
    remove_triggers(connection)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE shopapp_quoterevision SET shown = %s", [with_photo(sent)])
        cursor.execute("UPDATE shopapp_quoterevision SET shown_sha256 = %s", [digest(with_photo(sent))])
    apply_triggers(connection)

    response = front_desk.get(f"/quotes/{sent.pk}/paper/")

    assert response.status_code == 503
    assert "Only its PDF is missing" in text_of(response)


def with_photo(sent: QuoteRevision) -> str:
    """What was shown, with a photo whose file is gone."""
    return sent.shown.replace('"photos":[]', '"photos":[{"caption":"x","sha256":"' + "a" * 64 + '"}]')


def test_paper_is_not_the_technicians(bench: Client, sent: QuoteRevision) -> None:
    assert bench.get(f"/quotes/{sent.pk}/paper/").status_code == 403
