"""The page of one invoice or draft."""

from collections.abc import Callable

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.models import Customer, Invoice, Person
from tests.factories import WageFactory
from tests.factories.invoices import Planned, drafted, issued, paid

SignedIn = Callable[[Person], Client]
ByPerson = Callable[[Person], Actor]


def address(invoice: Invoice) -> str:
    return f"/invoices/{invoice.pk}/"


def test_draft_page_asks_once_before_issuing(ilse: Person, by: ByPerson, signed_in: SignedIn) -> None:
    draft = drafted(by=by(ilse))

    content = signed_in(ilse).get(address(draft)).content.decode()

    assert content.count('<details class="ask">') == 1
    assert content.count(f'action="/invoices/{draft.pk}/issue/"') == 1
    assert content.count(f'action="/invoices/for/{draft.work_order_id}/draft/"') == 1
    assert (f'action="/invoices/{draft.pk}/pay/"' in content, "/paper/" in content) == (False, False)
    assert f"{draft.customer.name} will owe $72.80." in content


def test_issued_page_takes_money_and_opens_paper(ilse: Person, by: ByPerson, signed_in: SignedIn) -> None:
    invoice = issued(by=by(ilse))
    paid(invoice, "22.80", by=by(ilse))

    content = signed_in(ilse).get(address(invoice)).content.decode()

    assert "<h1>Invoice INV-00001</h1>" in content
    assert content.count(f'href="/invoices/{invoice.pk}/paper/"') == 1
    assert content.count(f'action="/invoices/{invoice.pk}/pay/"') == 1
    assert 'name="amount" value="50.00"' in content
    assert ("/issue/" in content, "/draft/" in content) == (False, False)


def test_paid_page_takes_no_more_money(ilse: Person, by: ByPerson, signed_in: SignedIn) -> None:
    invoice = issued(by=by(ilse))
    paid(invoice, "72.80", by=by(ilse))

    content = signed_in(ilse).get(address(invoice)).content.decode()

    assert ("/pay/" in content, '<span class="chip chip-moss">' in content) == (False, True)


@pytest.mark.parametrize("who", ["ilse", "maren"])
def test_page_holds_no_cost_or_wage(
    who: str, request: pytest.FixtureRequest, by: ByPerson, signed_in: SignedIn
) -> None:
    person = request.getfixturevalue(who)
    WageFactory(person=person, hourly_e4=918_273_645)
    invoice = issued(by=by(person))

    content = signed_in(person).get(address(invoice)).content.decode()

    planted = ("7654321", "765.43", "918273645", "91827.36", "91,827.36")
    assert [text for text in planted if text in content] == []


def test_page_keeps_nasty_texts_as_text_t13(ilse: Person, by: ByPerson, signed_in: SignedIn) -> None:
    nasty = "<script>alert(1)</script>"
    invoice = issued([Planned(description=nasty, number=nasty)], by=by(ilse))
    Customer.objects.update(name=nasty)

    content = signed_in(ilse).get(address(invoice)).content.decode()

    assert ("<script>alert" in content, content.count("&lt;script&gt;alert(1)") >= 3) == (False, True)


def test_missing_invoice_is_404(ilse: Person, signed_in: SignedIn) -> None:
    assert signed_in(ilse).get("/invoices/999/").status_code == 404


def test_page_is_closed_to_technicians(
    ilse: Person, tobiah: Person, by: ByPerson, signed_in: SignedIn
) -> None:
    invoice, client = issued(by=by(ilse)), signed_in(tobiah)

    statuses = [client.get(where).status_code for where in (address(invoice), "/invoices/999/")]

    assert statuses == [403, 403]


def test_page_needs_the_same_queries_at_any_length(
    ilse: Person, by: ByPerson, signed_in: SignedIn, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    client, rows = signed_in(ilse), []
    for length in (1, 100):
        invoice = issued([Planned()] * length, by=by(ilse))
        with django_assert_num_queries(8):
            rows.append(client.get(address(invoice)).content.decode().count("Gasket set"))

    assert rows == [1, 100]
