"""A sent quote is changed by a new revision."""

from django.test import Client
from django.utils import timezone

from shopapp.models import Person, QuoteRevision
from tests.factories.quotes import answered
from tests.web.pages import fresh_key, text_of


def test_revise_leads_to_the_new_draft(front_desk: Client, sent: QuoteRevision) -> None:
    response = front_desk.post(f"/quotes/{sent.pk}/revise/", fresh_key())

    new = QuoteRevision.objects.get(revision=2)
    assert (response["Location"], new.state) == (f"/quotes/{new.pk}/edit/", "draft")


def test_revise_is_offered_while_it_is_out(front_desk: Client, sent: QuoteRevision) -> None:
    address = f"/quotes/{sent.pk}/preview/"
    out = text_of(front_desk.get(address))
    front_desk.post(f"/quotes/{sent.pk}/revise/", fresh_key())
    back = text_of(front_desk.get(address))

    assert [page.count("Take back and revise") for page in (out, back)] == [1, 0]


def test_revise_of_answered_is_refused(front_desk: Client, sent: QuoteRevision, ilse: Person) -> None:
    answered(sent, ilse, at=timezone.now())

    response = front_desk.post(f"/quotes/{sent.pk}/revise/", fresh_key())

    assert (response.status_code, QuoteRevision.objects.count()) == (409, 1)


def test_revise_is_not_the_technicians(bench: Client, sent: QuoteRevision) -> None:
    assert bench.post(f"/quotes/{sent.pk}/revise/", fresh_key()).status_code == 403
