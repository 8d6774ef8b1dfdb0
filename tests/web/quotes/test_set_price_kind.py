"""How a job is billed is changed on the builder, and read by the customer in words."""

import pytest
from django.test import Client

from shopapp.models import Job, QuoteRevision
from tests.web.pages import fresh_key, text_of

SAYS = {
    "fixed": "This is what you pay, whatever it takes.",
    "ceiling": "You pay for what is really used, and never more than this.",
    "time": "About this much. You pay for the hours and parts really used, at these rates;",
}


def address(draft: QuoteRevision) -> str:
    return f"/quotes/choice/{draft.choices.get().pk}/set-price-kind/"


@pytest.mark.parametrize("kind", SAYS)
def test_set_price_kind_is_told_in_words(front_desk: Client, draft: QuoteRevision, kind: str) -> None:
    response = front_desk.post(address(draft), fresh_key() | {"price_kind": kind})

    assert response["Location"] == f"/quotes/{draft.pk}/edit/"
    for page in ("edit", "preview"):
        assert SAYS[kind] in text_of(front_desk.get(f"/quotes/{draft.pk}/{page}/"))


@pytest.mark.parametrize("kind", ["", "free", "FIXED", "x" * 500])
def test_set_price_kind_takes_no_strange_one(front_desk: Client, draft: QuoteRevision, kind: str) -> None:
    response = front_desk.post(address(draft), fresh_key() | {"price_kind": kind})

    assert (response.status_code, Job.objects.get().price_kind) == (422, "fixed")


def test_set_price_kind_of_sent_is_refused(front_desk: Client, sent: QuoteRevision) -> None:
    response = front_desk.post(address(sent), fresh_key() | {"price_kind": "time"})

    assert (response.status_code, Job.objects.get().price_kind) == (409, "fixed")


def test_set_price_kind_is_not_the_technicians(bench: Client, draft: QuoteRevision) -> None:
    response = bench.post(address(draft), fresh_key() | {"price_kind": "time"})

    assert (response.status_code, Job.objects.get().price_kind) == (403, "fixed")
