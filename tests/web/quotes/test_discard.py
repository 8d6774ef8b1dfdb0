"""A draft is thrown away: its jobs are free for a new one, and it stays to be read."""

import pytest
from django.test import Client

from shopapp.models import Activity, QuoteRevision
from tests.web.pages import fresh_key, text_of


def discarded(client: Client, draft: QuoteRevision, **changes: str) -> int:
    form = {"version": str(draft.version)} | changes | fresh_key()
    return client.post(f"/quotes/{draft.pk}/discard/", form).status_code


def test_discard_leads_to_the_visit_and_frees_its_jobs(front_desk: Client, draft: QuoteRevision) -> None:
    visit = draft.quote.work_order_id
    form = {"version": str(draft.version)} | fresh_key()
    answers = [front_desk.post(f"/quotes/{draft.pk}/discard/", form) for _time in range(2)]

    front_desk.post(f"/quotes/for/{visit}/start/", fresh_key())

    assert [(one.status_code, one["Location"]) for one in answers] == [(302, f"/work-orders/{visit}/")] * 2
    states = list(QuoteRevision.objects.order_by("pk").values_list("state", flat=True))
    assert states == ["discarded", "draft"]
    assert Activity.objects.filter(verb="discard quote").count() == 1


def test_discard_is_offered_while_it_is_written(front_desk: Client, draft: QuoteRevision) -> None:
    writing = text_of(front_desk.get(f"/quotes/{draft.pk}/edit/"))
    discarded(front_desk, draft)
    gone = text_of(front_desk.get(f"/quotes/{draft.pk}/edit/", follow=True))

    assert "Yes, throw it away" in writing
    assert "This draft was thrown away. The customer never saw it." in gone
    assert [word in gone for word in ("Send this quote", "PDF", "Take back", "throw it away")] == [False] * 4


def test_discard_leaves_no_way_to_change_or_send_it(front_desk: Client, draft: QuoteRevision) -> None:
    discarded(front_desk, draft)
    form = {"version": "2", "seen": "0" * 64}

    codes = [
        front_desk.post(f"/quotes/{draft.pk}/{deed}/", form | fresh_key()).status_code
        for deed in ("send", "revise", "hand-over", "discard")
    ]

    assert codes == [409] * 4
    assert front_desk.get(f"/quotes/{draft.pk}/paper/").status_code == 404


@pytest.mark.parametrize("version", ["", "x", "-1", "9" * 20])
def test_version_that_is_none_is_refused(version: str, front_desk: Client, draft: QuoteRevision) -> None:
    code = discarded(front_desk, draft, version=version)

    assert (code, QuoteRevision.objects.get().state) == (422, "draft")


def test_discard_of_what_was_sent_is_refused(front_desk: Client, sent: QuoteRevision) -> None:
    assert discarded(front_desk, sent) == 409
    assert QuoteRevision.objects.get().state == "sent"


def test_discard_is_not_the_technicians(bench: Client, draft: QuoteRevision) -> None:
    assert discarded(bench, draft) == 403
