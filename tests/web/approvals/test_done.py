"""What was agreed, shown until the link runs out; then the tablet goes back."""

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.utils import timezone

from shopapp.actions import links
from shopapp.models import CustomerLink, Person, QuoteRevision
from shopapp.triggers import apply_triggers, remove_triggers
from tests.factories import JobFactory, WorkOrderFactory
from tests.factories.quotes import desk, opened_link, sent_quote
from tests.web.approvals.conftest import Visitor
from tests.web.pages import fresh_key, text_of


def test_done_shows_what_was_agreed(visitor: Visitor) -> None:
    visitor.answers()

    page = text_of(visitor.browser.get("/approvals/done/"))

    assert re.findall(r'class="sum"><span>[^<]+</span><span>([^<]+)<', page) == ["$376.38"]
    assert "A – New seals on the old shaft" in page
    assert "Signed by Aud Nilsen" in page
    assert 'href="/approvals/paper/"' in page


def test_done_shows_what_was_declined(visitor: Visitor) -> None:
    visitor.answers(answer="decline", reason="Too dear")

    page = text_of(visitor.browser.get("/approvals/done/"))

    assert [text for text in ("Thank you for your answer", "Not now", "Too dear") if text not in page] == []
    assert "$" not in page


def test_done_before_the_answer_leads_back(visitor: Visitor) -> None:
    assert visitor.browser.get("/approvals/done/")["Location"] == "/approvals/decide/"


def test_done_is_shut_when_the_link_runs_out(visitor: Visitor) -> None:
    visitor.answers()
    CustomerLink.objects.update(expires_at=timezone.now() - timedelta(seconds=1))

    assert visitor.browser.get("/approvals/done/").status_code == 404


def test_done_gives_the_tablet_back(visitor: Visitor) -> None:
    visitor.answers()

    response = visitor.browser.post("/approvals/done/", fresh_key())

    assert response["Location"] == "/people/sign-in/"
    assert visitor.browser.get("/approvals/done/").status_code == 404


def test_done_on_an_own_phone_asks_for_no_tablet(sent: QuoteRevision, ilse: Person) -> None:
    link, token = links.open_phone(sent.pk, "604 555 0199", by=desk(ilse, at=timezone.now()))
    guest = Visitor(revision=sent, link=link, token=token)
    guest.browser.get(f"/approvals/enter/{token}/")
    guest.answers()

    page = text_of(guest.browser.get("/approvals/done/"))

    assert ("tablet" in page, "<form" in page) == (False, False)
    assert "You can close this page now. Your link shows this answer until" in page
    assert "604 555 0199" in page


def test_done_at_the_counter_asks_for_the_tablet(visitor: Visitor) -> None:
    visitor.answers()

    page = text_of(visitor.browser.get("/approvals/done/"))

    assert ("give the tablet back" in page, "You can close this page" in page) == (True, False)


def test_done_refuses_a_changed_answer_t35(visitor: Visitor) -> None:
    visitor.answers()
    remove_triggers(connection)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE shopapp_approvedchoice SET option_id = NULL")
    apply_triggers(connection)

    response = visitor.browser.get("/approvals/done/")

    assert response.status_code == 409
    assert "no longer matches what was signed" in text_of(response)


@pytest.mark.parametrize("jobs", [1, 8])
def test_done_takes_ten_queries(ilse: Person, django_assert_num_queries: object, jobs: int) -> None:
    visit = WorkOrderFactory()
    for position in range(1, jobs + 1):
        JobFactory(work_order=visit, position=position)
    sent = sent_quote(ilse, at=timezone.now(), work_order=visit)
    link, token = opened_link(sent, ilse, at=timezone.now())
    guest = Visitor(revision=sent, link=link, token=token)
    guest.browser.get(f"/approvals/enter/{token}/")
    guest.answers()

    with django_assert_num_queries(10):
        guest.browser.get("/approvals/done/")
