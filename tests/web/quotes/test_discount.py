"""A discount on the whole, with its reason, on a page of its own."""

import pytest
from django.test import Client

from shopapp.models import QuoteRevision
from tests.web.pages import fresh_key, text_of

TYPED = {"share": "10", "reason": "Spring offer", "version": "1"}


def test_discount_leads_back_to_the_builder(front_desk: Client, draft: QuoteRevision) -> None:
    response = front_desk.post(f"/quotes/{draft.pk}/discount/", fresh_key() | TYPED)

    assert response["Location"] == f"/quotes/{draft.pk}/edit/"
    page = text_of(front_desk.get(response["Location"]))
    wanted = ["10\u00a0% off the whole of what is chosen: Spring offer", "− $35.48", "$338.74"]
    assert [text for text in wanted if text not in page] == []


def test_discount_is_read_by_the_customer(front_desk: Client, draft: QuoteRevision) -> None:
    front_desk.post(f"/quotes/{draft.pk}/discount/", fresh_key() | TYPED)

    page = text_of(front_desk.get(f"/quotes/{draft.pk}/preview/"))

    assert [text for text in ("Discount 10\u00a0%: Spring offer", "− $35.48") if text not in page] == []


def test_discount_without_reason_is_told_at_the_field(front_desk: Client, draft: QuoteRevision) -> None:
    response = front_desk.post(f"/quotes/{draft.pk}/discount/", fresh_key() | TYPED | {"reason": ""})

    assert (response.status_code, QuoteRevision.objects.get().discount_e4) == (422, 0)
    assert 'id="id_reason_error"' in text_of(response)


def test_discount_of_older_version_shows_both_t22(front_desk: Client, draft: QuoteRevision) -> None:
    front_desk.post(f"/quotes/{draft.pk}/discount/", fresh_key() | TYPED)

    response = front_desk.post(f"/quotes/{draft.pk}/discount/", fresh_key() | TYPED | {"share": "20"})

    assert response.status_code == 409
    assert "Somebody else saved this" in text_of(response)


@pytest.mark.parametrize("text", ["", "x", "-1", "100", "100.01", "1e1", "0.001", "NaN", "9" * 60])
def test_discount_takes_no_odd_value(front_desk: Client, draft: QuoteRevision, text: str) -> None:
    response = front_desk.post(f"/quotes/{draft.pk}/discount/", fresh_key() | TYPED | {"share": text})

    assert (response.status_code, QuoteRevision.objects.get().discount_e4) == (422, 0)


def test_discount_of_sent_leads_to_preview(front_desk: Client, sent: QuoteRevision) -> None:
    assert front_desk.get(f"/quotes/{sent.pk}/discount/")["Location"] == f"/quotes/{sent.pk}/preview/"


def test_discount_is_not_the_technicians(bench: Client, draft: QuoteRevision) -> None:
    assert bench.post(f"/quotes/{draft.pk}/discount/", fresh_key() | TYPED).status_code == 403
