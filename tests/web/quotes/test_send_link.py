"""A link for the customer's phone: shown once, kept as a hash, with where it went."""

import re
from urllib.parse import parse_qs, urlsplit

import pytest
from django.test import Client

from shopapp.models import CustomerLink, QuoteRevision, RequestKey
from shopapp.queries.links import token_digest
from tests.web.pages import fresh_key, text_of, values_of


def token_in(page: str) -> str:
    return re.findall(r"http://testserver/approvals/enter/([\w-]{43})/", page)[0]


def test_send_link_offers_the_known_addresses(front_desk: Client, sent: QuoteRevision) -> None:
    customer = sent.quote.work_order.customer
    customer.email = "aud@inlet.test"
    customer.save()

    page = front_desk.get(f"/quotes/{sent.pk}/send-link/")

    assert list(values_of(page, "sent_to")) == [customer.phone]
    assert [value in text_of(page) for value in (customer.phone, "aud@inlet.test")] == [True, True]


def test_send_link_shows_the_link_once(front_desk: Client, sent: QuoteRevision) -> None:
    response = front_desk.post(f"/quotes/{sent.pk}/send-link/", fresh_key() | {"sent_to": "604 555 0199"})

    page = text_of(response)
    token, link = token_in(page), CustomerLink.objects.get()
    assert (response.status_code, response["Cache-Control"]) == (200, "no-store")
    assert (link.token_sha256, link.sent_to, link.purpose) == (token_digest(token), "604 555 0199", "phone")
    assert token not in text_of(front_desk.get(f"/quotes/{sent.pk}/preview/"))
    assert "604 555 0199" in text_of(front_desk.get(f"/quotes/{sent.pk}/preview/"))


def test_send_link_opens_the_quote_on_a_phone(front_desk: Client, sent: QuoteRevision) -> None:
    page = text_of(front_desk.post(f"/quotes/{sent.pk}/send-link/", fresh_key() | {"sent_to": "6045550199"}))
    phone = Client()

    entered = phone.get(f"/approvals/enter/{token_in(page)}/")

    assert entered["Location"] == "/approvals/decide/"
    # as long as the prices hold, not half an hour
    assert int(entered.cookies["customer"]["max-age"]) > 29 * 24 * 3600
    assert sent.quote.number in text_of(phone.get("/approvals/decide/"))


@pytest.mark.parametrize(
    ("sent_to", "scheme", "path"),
    [("+1 (604) 555-0199", "sms", "+16045550199"), ("aud@inlet.test", "mailto", "aud@inlet.test")],
)
def test_send_link_writes_the_message(
    front_desk: Client, sent: QuoteRevision, sent_to: str, scheme: str, path: str
) -> None:
    page = text_of(front_desk.post(f"/quotes/{sent.pk}/send-link/", fresh_key() | {"sent_to": sent_to}))

    address = re.findall(rf'href="({scheme}:[^"]+)"', page)[0].replace("&amp;", "&")
    parts = urlsplit(address)
    assert (parts.scheme, parts.path) == (scheme, path)
    assert token_in(page) in parse_qs(parts.query)["body"][0]


def test_send_link_breaks_out_of_no_message(front_desk: Client, sent: QuoteRevision) -> None:
    hostile = 'a@b.test?cc=x@y.test&body="><script>'

    page = text_of(front_desk.post(f"/quotes/{sent.pk}/send-link/", fresh_key() | {"sent_to": hostile}))

    address = re.findall(r'href="(mailto:[^"]+)"', page)[0]
    assert ("cc=" in address, "<script>" in page) == (False, False)


def test_send_link_draws_a_code_of_its_own(front_desk: Client, sent: QuoteRevision) -> None:
    page = text_of(front_desk.post(f"/quotes/{sent.pk}/send-link/", fresh_key() | {"sent_to": "604"}))

    assert page.count('src="data:image/svg+xml') == 1


def test_send_link_leaves_no_token_behind(front_desk: Client, sent: QuoteRevision) -> None:
    page = text_of(front_desk.post(f"/quotes/{sent.pk}/send-link/", fresh_key() | {"sent_to": "604"}))

    token = token_in(page)
    assert [row for row in RequestKey.objects.values_list("location", flat=True) if token in row] == []


def test_send_link_warns_that_one_is_out(front_desk: Client, sent: QuoteRevision) -> None:
    front_desk.post(f"/quotes/{sent.pk}/send-link/", fresh_key() | {"sent_to": "604"})

    assert "A link is out already." in text_of(front_desk.get(f"/quotes/{sent.pk}/send-link/"))


def test_send_link_needs_where_it_goes(front_desk: Client, sent: QuoteRevision) -> None:
    response = front_desk.post(f"/quotes/{sent.pk}/send-link/", fresh_key() | {"sent_to": " "})

    assert (response.status_code, CustomerLink.objects.count()) == (422, 0)


def test_send_link_is_for_sent_quotes(front_desk: Client, draft: QuoteRevision) -> None:
    for method in (front_desk.get, front_desk.post):
        assert method(f"/quotes/{draft.pk}/send-link/").status_code == 409


def test_send_link_is_not_the_technicians(bench: Client, sent: QuoteRevision) -> None:
    assert bench.get(f"/quotes/{sent.pk}/send-link/").status_code == 403


def test_send_link_takes_few_queries(
    front_desk: Client, sent: QuoteRevision, django_assert_num_queries: object
) -> None:
    with django_assert_num_queries(6):
        front_desk.get(f"/quotes/{sent.pk}/send-link/")
