"""The desk notes a signature on paper, for exactly the sheet that the page stands for."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Intake, Person, WorkOrder
from tests.web.pages import fields_of

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def test_paper_is_noted_for_what_the_page_shows(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, terms: Intake, key: Key
) -> None:
    client = signed_in(ilse)
    seen = dict(fields_of(client.get(f"/arrivals/{visit.pk}/taken-in/")))["seen"]

    response = client.post(
        f"/arrivals/{visit.pk}/sign-on-paper/", {"signed_name": "Anna Berg", "seen": seen} | key()
    )

    row = Intake.objects.get()
    assert (response.status_code, row.signed_name, row.signed_how, row.shown_sha256) == (
        302,
        "Anna Berg",
        "paper",
        seen,
    )


def test_paper_of_other_terms_is_refused(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, terms: Intake, key: Key
) -> None:
    client = signed_in(ilse)
    seen = dict(fields_of(client.get(f"/arrivals/{visit.pk}/taken-in/")))["seen"]
    Intake.objects.update(spending_limit_minor=1)

    response = client.post(
        f"/arrivals/{visit.pk}/sign-on-paper/", {"signed_name": "Anna Berg", "seen": seen} | key()
    )

    assert (response.status_code, Intake.objects.get().signed_at) == (409, None)


def test_nameless_signature_is_told_at_its_field(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, terms: Intake, key: Key
) -> None:
    response = signed_in(ilse).post(f"/arrivals/{visit.pk}/sign-on-paper/", {"signed_name": " "} | key())

    assert (response.status_code, Intake.objects.get().signed_at) == (422, None)
    assert "Name of whoever signed is missing." in response.content.decode()


def test_visit_without_terms_has_nothing_to_sign(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, key: Key
) -> None:
    response = signed_in(ilse).post(f"/arrivals/{visit.pk}/sign-on-paper/", {"signed_name": "Anna"} | key())

    assert response.status_code == 409
