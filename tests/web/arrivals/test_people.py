"""People on a visit: named, changed, and a payer who is looked up among the known customers."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions import search_texts
from shopapp.models import Customer, Person, VisitPerson, WorkOrder
from tests.factories import CustomerFactory
from tests.web.pages import fields_of

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


@pytest.fixture
def insurance() -> Customer:
    row = CustomerFactory(name="Harbour Insurance")
    search_texts.index(row)
    return row


def address(visit: WorkOrder) -> str:
    return f"/arrivals/{visit.pk}/people/"


def test_people_are_saved_and_shown_again(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, insurance: Customer, key: Key
) -> None:
    typed = {
        "approver_name": "Cleo Dahl",
        "approver_up_to": "500",
        "payer": "harbour",
        "collector_name": "Bo Holm",
        "purchase_order": "PO-7",
    }
    client = signed_in(ilse)

    response = client.post(address(visit), typed | key())

    fields = dict(fields_of(client.get(address(visit))))
    assert response["Location"] == f"/arrivals/{visit.pk}/taken-in/"
    assert VisitPerson.objects.get(part="payer").customer == insurance
    assert (fields["approver_name"], fields["approver_up_to"], fields["payer"]) == (
        "Cleo Dahl",
        "500",
        "Harbour Insurance",
    )
    assert (fields["collector_name"], fields["purchase_order"]) == ("Bo Holm", "PO-7")


def test_payer_stays_when_others_have_the_name(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, insurance: Customer, key: Key
) -> None:
    client = signed_in(ilse)
    client.post(address(visit), {"payer": "harbour"} | key())
    search_texts.index(CustomerFactory(name="Harbour Insurance"))

    response = client.post(address(visit), {"payer": "Harbour Insurance", "bringer_name": "Bo"} | key())

    assert response.status_code == 302
    assert VisitPerson.objects.get(part="payer").customer == insurance


def test_several_payers_are_asked_about(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, insurance: Customer, key: Key
) -> None:
    other = CustomerFactory(name="Harbour Master")
    search_texts.index(other)
    client = signed_in(ilse)

    asked = client.post(address(visit), {"payer": "harbour"} | key())
    client.post(address(visit), {"payer": "harbour", "payer_pk": str(other.pk)} | key())

    content = asked.content.decode()
    assert (asked.status_code, "Several fit. Say which of them pays." in content) == (422, True)
    assert (
        f"Harbour Insurance, {insurance.phone}" in content,
        f"Harbour Master, {other.phone}" in content,
    ) == (
        True,
        True,
    )
    assert VisitPerson.objects.get().customer == other


def test_stranger_does_not_pay(ilse: Person, signed_in: SignedIn, visit: WorkOrder, key: Key) -> None:
    response = signed_in(ilse).post(address(visit), {"payer": "Nobody", "bringer_name": "Bo"} | key())

    assert (response.status_code, VisitPerson.objects.count()) == (422, 0)
    assert (
        "Nobody known here fits." in response.content.decode(),
        'value="Bo"' in response.content.decode(),
    ) == (
        True,
        True,
    )
