"""The desk shuts the link on a customer's phone."""

from django.test import Client
from django.utils import timezone

from shopapp.actions.links import open_phone
from shopapp.models import CustomerLink, Person, QuoteRevision
from tests.factories.quotes import desk
from tests.web.pages import fresh_key, text_of


def test_revoke_link_shuts_the_phone_out(front_desk: Client, sent: QuoteRevision, ilse: Person) -> None:
    _, token = open_phone(sent.pk, "604 555 0199", by=desk(ilse, at=timezone.now()))
    phone = Client()
    phone.get(f"/approvals/enter/{token}/")

    response = front_desk.post(f"/quotes/{sent.pk}/revoke-link/", fresh_key())

    assert (response.status_code, response["Location"]) == (302, f"/quotes/{sent.pk}/preview/")
    assert phone.get("/approvals/decide/").status_code == 404
    assert "Shut the link" not in text_of(front_desk.get(f"/quotes/{sent.pk}/preview/"))


def test_revoke_link_says_when_none_is_out(front_desk: Client, sent: QuoteRevision) -> None:
    response = front_desk.post(f"/quotes/{sent.pk}/revoke-link/", fresh_key())

    assert response.status_code == 409
    assert "There is no link to shut" in text_of(response)


def test_revoke_link_is_not_the_technicians(bench: Client, sent: QuoteRevision) -> None:
    assert bench.post(f"/quotes/{sent.pk}/revoke-link/", fresh_key()).status_code == 403
    assert CustomerLink.objects.count() == 0
