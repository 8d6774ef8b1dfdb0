"""Giving the tablet to a customer ends the shop's session in it."""

from django.test import Client

from shopapp.models import BrowserSession, CustomerLink, Person, QuoteRevision, RequestKey
from shopapp.queries.links import token_digest
from tests.web.pages import fresh_key, text_of


def test_hand_over_ends_the_staff_session(front_desk: Client, sent: QuoteRevision) -> None:
    response = front_desk.post(f"/quotes/{sent.pk}/hand-over/", fresh_key())

    token = response["Location"].split("/")[-2]
    assert (response.status_code, response["Location"]) == (302, f"/approvals/enter/{token}/")
    assert CustomerLink.objects.get().token_sha256 == token_digest(token)
    assert BrowserSession.objects.count() == 0
    assert front_desk.get("/work-orders/")["Location"].startswith("/people/sign-in/")


def test_hand_over_leaves_no_token_behind(front_desk: Client, sent: QuoteRevision) -> None:
    response = front_desk.post(f"/quotes/{sent.pk}/hand-over/", fresh_key())

    token = response["Location"].split("/")[-2]
    assert [row for row in RequestKey.objects.values_list("location", flat=True) if token in row] == []


def test_hand_over_leads_to_the_quote(front_desk: Client, sent: QuoteRevision, ilse: Person) -> None:
    response = front_desk.post(f"/quotes/{sent.pk}/hand-over/", fresh_key(), follow=True)

    page = text_of(response)
    assert response.redirect_chain[-1] == ("/approvals/decide/", 302)
    assert ilse.name not in page
    assert "/people/sign-out/" not in page


def test_hand_over_takes_the_whole_page_along(front_desk: Client, sent: QuoteRevision) -> None:
    response = front_desk.post(f"/quotes/{sent.pk}/hand-over/", fresh_key(), headers={"HX-Request": "true"})

    assert (response.status_code, response["HX-Redirect"][:17]) == (204, "/approvals/enter/")


def test_hand_over_of_draft_keeps_the_session(front_desk: Client, draft: QuoteRevision) -> None:
    response = front_desk.post(f"/quotes/{draft.pk}/hand-over/", fresh_key())

    assert (response.status_code, CustomerLink.objects.count()) == (409, 0)
    assert front_desk.get(f"/quotes/{draft.pk}/edit/").status_code == 200


def test_hand_over_is_not_the_technicians(bench: Client, sent: QuoteRevision) -> None:
    assert bench.post(f"/quotes/{sent.pk}/hand-over/", fresh_key()).status_code == 403
