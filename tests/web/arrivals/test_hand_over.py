"""Handing the tablet over ends the session of the person and opens the terms for the customer."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import CustomerLink, Intake, Person, WorkOrder

SignedIn = Callable[[Person], Client]


def test_hand_over_ends_the_session_and_opens_the_door(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, terms: Intake
) -> None:
    client = signed_in(ilse)

    response = client.post(f"/arrivals/{visit.pk}/hand-over/")
    page = client.get(response["Location"], follow=True)

    assert response["Location"].startswith("/approvals/intake/enter/")
    assert page.redirect_chain == [("/approvals/intake/terms/", 302)]
    assert "Leaving Kittiwake with us" in page.content.decode()
    assert client.get(f"/arrivals/{visit.pk}/taken-in/").status_code == 302
    link = CustomerLink.objects.get()
    assert (link.intake, link.created_by) == (terms, ilse)
    assert response["Location"].split("/")[4] not in str(vars(link))


def test_hand_over_by_htmx_leads_the_browser_on(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, terms: Intake
) -> None:
    response = signed_in(ilse).post(f"/arrivals/{visit.pk}/hand-over/", headers={"hx-request": "true"})

    assert (response.status_code, response["HX-Redirect"][:24]) == (204, "/approvals/intake/enter/")


def test_nothing_unsigned_is_not_handed_over(ilse: Person, signed_in: SignedIn, visit: WorkOrder) -> None:
    client = signed_in(ilse)

    response = client.post(f"/arrivals/{visit.pk}/hand-over/")

    assert (response.status_code, CustomerLink.objects.count()) == (409, 0)
    assert client.get(f"/arrivals/{visit.pk}/taken-in/").status_code == 200
