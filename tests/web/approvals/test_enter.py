"""Opening a link sets a cookie and decides nothing; every door that is shut looks alike."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.models import Approval, CustomerLink, Person, QuoteRevision, RevisionState
from tests.factories.quotes import opened_link
from tests.web.approvals.conftest import Visitor
from tests.web.pages import text_of


def test_enter_five_times_decides_nothing_t03(visitor: Visitor) -> None:
    answers = [Client().get(f"/approvals/enter/{visitor.token}/") for _ in range(5)]

    assert {(answer.status_code, answer["Location"]) for answer in answers} == {(302, "/approvals/decide/")}
    assert (Approval.objects.count(), QuoteRevision.objects.get().state) == (0, RevisionState.SENT)
    assert CustomerLink.objects.get().revoked_at is None


def test_enter_by_head_leads_on_and_uses_nothing_up(visitor: Visitor) -> None:
    browser = Client()
    asked = browser.head(f"/approvals/enter/{visitor.token}/")
    looked = [browser.head(f"/approvals/{page}/").status_code for page in ("decide", "paper", "done")]

    assert (asked.status_code, asked["Location"], asked.content) == (302, "/approvals/decide/", b"")
    assert looked == [200, 200, 302]
    assert CustomerLink.objects.get().revoked_at is None
    assert visitor.answers().status_code == 302


def test_enter_sets_a_cookie_of_the_room(visitor: Visitor) -> None:
    browser = Client()
    browser.get(f"/approvals/enter/{visitor.token}/")

    cookie = browser.cookies["customer"]
    flags = (cookie["path"], cookie["httponly"], cookie["samesite"], cookie["secure"])
    assert flags == ("/approvals/", True, "Lax", "")
    assert 0 < int(cookie["max-age"]) <= 1800
    assert "sessionid" not in browser.cookies


def test_enter_over_https_keeps_cookie_secure(visitor: Visitor, settings: object) -> None:
    settings.HTTPS = True
    browser = Client()

    browser.get(f"/approvals/enter/{visitor.token}/", secure=True)

    assert browser.cookies["customer"]["secure"] is True


def test_enter_is_told_to_nobody_t07(visitor: Visitor) -> None:
    response = Client().get(f"/approvals/enter/{visitor.token}/")

    told = [response[name] for name in ("Referrer-Policy", "Cache-Control", "X-Robots-Tag")]
    assert told == ["no-referrer", "no-store", "noindex"]


def test_shut_doors_look_alike(visitor: Visitor, ilse: Person) -> None:
    _, expired = opened_link(visitor.revision, ilse, at=timezone.now())
    CustomerLink.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    opened_link(visitor.revision, ilse, at=timezone.now())
    tokens = ["unknown", visitor.token, expired]

    pages = [Client().get(f"/approvals/enter/{token}/") for token in tokens]
    pages.append(Client().get("/approvals/decide/"))

    assert [page.status_code for page in pages] == [404] * 4
    assert len({page.content for page in pages}) == 1
    assert [dict(page.headers) for page in pages[:3]] == [dict(pages[3].headers)] * 3


def test_shut_door_leaves_no_token_in_logs(visitor: Visitor, caplog: pytest.LogCaptureFixture) -> None:
    CustomerLink.objects.update(expires_at=timezone.now())

    Client().get(f"/approvals/enter/{visitor.token}/")

    assert visitor.token not in caplog.text


@pytest.mark.parametrize(
    "address",
    [
        "/invoices/{}/",
        "/invoices/{}/paper/",
        "/quotes/{}/preview/",
        "/quotes/{}/paper/",
        "/work-orders/{}/",
        "/approvals/{}/",
        "/approvals/photo/{}/",
        "/media/photo/{}/",
    ],
)
def test_token_opens_nothing_else_t05(visitor: Visitor, address: str) -> None:
    response = visitor.browser.get(address.format(visitor.token))

    assert response.status_code == 404
    assert visitor.token not in text_of(response)


def test_link_is_no_sign_in(visitor: Visitor) -> None:
    addresses = ["/work-orders/", f"/quotes/{visitor.revision.pk}/preview/", "/invoices/"]

    answers = [visitor.browser.get(address)["Location"] for address in addresses]

    assert [answer.split("?")[0] for answer in answers] == ["/people/sign-in/"] * 3


def test_altered_cookie_opens_nothing(visitor: Visitor) -> None:
    visitor.browser.cookies["customer"] = visitor.token

    assert visitor.browser.get("/approvals/decide/").status_code == 404


def test_enter_is_a_get_only(visitor: Visitor) -> None:
    assert Client().post(f"/approvals/enter/{visitor.token}/").status_code == 405
