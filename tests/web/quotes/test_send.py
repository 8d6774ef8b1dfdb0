"""What was previewed is sent, once."""

from django.test import Client
from django.utils import timezone

from shopapp.actions import quotes
from shopapp.models import Person, QuoteOption, QuoteRevision
from tests.factories.quotes import LABOUR, desk
from tests.web.pages import fields_of, fresh_key, text_of


def sendable(browser: Client, draft: QuoteRevision) -> dict[str, str]:
    """The hidden fields of the preview's form."""
    return dict(fields_of(browser.get(f"/quotes/{draft.pk}/preview/")))


def test_send_sends_what_was_previewed(front_desk: Client, draft: QuoteRevision) -> None:
    fields = sendable(front_desk, draft)

    response = front_desk.post(f"/quotes/{draft.pk}/send/", fields)

    draft.refresh_from_db()
    assert (response["Location"], draft.state) == (f"/quotes/{draft.pk}/preview/", "sent")
    assert draft.shown_sha256 == fields["seen"]


def test_send_refuses_what_changed_since(front_desk: Client, draft: QuoteRevision, maren: Person) -> None:
    fields = sendable(front_desk, draft)
    quotes.add_line(QuoteOption.objects.first().pk, LABOUR, by=desk(maren, at=timezone.now()))

    response = front_desk.post(f"/quotes/{draft.pk}/send/", fields)

    draft.refresh_from_db()
    assert (response.status_code, draft.state) == (409, "draft")
    assert "Look at it once more" in text_of(response)


def test_send_twice_answers_the_same_t21(front_desk: Client, draft: QuoteRevision) -> None:
    fields = sendable(front_desk, draft)

    first = front_desk.post(f"/quotes/{draft.pk}/send/", fields)
    second = front_desk.post(f"/quotes/{draft.pk}/send/", fields)

    assert (first.status_code, first["Location"]) == (second.status_code, second["Location"])


def test_send_of_unfinished_is_refused(front_desk: Client, draft: QuoteRevision) -> None:
    QuoteOption.objects.get(position=2).lines.all().delete()

    response = front_desk.post(f"/quotes/{draft.pk}/send/", sendable(front_desk, draft))

    assert response.status_code == 409
    assert "“New shaft and seals” has no lines yet" in text_of(response)


def test_send_needs_a_preview(front_desk: Client, draft: QuoteRevision) -> None:
    response = front_desk.post(f"/quotes/{draft.pk}/send/", fresh_key() | {"version": "x"})

    assert response.status_code == 422


def test_send_is_not_the_technicians(bench: Client, draft: QuoteRevision) -> None:
    assert bench.post(f"/quotes/{draft.pk}/send/", fresh_key()).status_code == 403
