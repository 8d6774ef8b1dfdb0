"""The form for money that comes in."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Invoice, Payment, Person, Shop
from tests.factories.invoices import drafted, issued, paid
from tests.web.shared.hostile import row_counts, troubles_with_bad_values

SignedIn = Callable[[Person], Client]
ByPerson = Callable[[Person], Actor]
Key = Callable[[], dict[str, str]]
TYPED = {"amount": "20.00", "method": "cash", "note": "two twenties minus change"}


def address(pk: int) -> str:
    return f"/invoices/{pk}/pay/"


@pytest.fixture
def invoice(ilse: Person, by: ByPerson) -> Invoice:
    return issued(by=by(ilse))


def test_pay_books_and_returns(ilse: Person, signed_in: SignedIn, key: Key, invoice: Invoice) -> None:
    response = signed_in(ilse).post(address(invoice.pk), TYPED | key())

    payment = Payment.objects.get()
    assert (response.status_code, response.headers["Location"]) == (302, f"/invoices/{invoice.pk}/")
    assert (payment.amount_minor, payment.method, payment.note) == (2_000, "cash", TYPED["note"])


def test_pay_clicked_twice_books_once(ilse: Person, signed_in: SignedIn, key: Key, invoice: Invoice) -> None:
    client, sent = signed_in(ilse), TYPED | key()

    answers = [client.post(address(invoice.pk), sent) for _ in range(2)]

    assert [answer.headers["Location"] for answer in answers] == [f"/invoices/{invoice.pk}/"] * 2
    assert Payment.objects.count() == 1


def test_pay_with_a_used_key_is_refused_t20(
    ilse: Person, signed_in: SignedIn, key: Key, invoice: Invoice
) -> None:
    client, sent = signed_in(ilse), TYPED | key()
    client.post(address(invoice.pk), sent)

    response = client.post(address(invoice.pk), sent | {"amount": "30.00"})

    assert (response.status_code, Payment.objects.count()) == (422, 1)


def test_pay_reads_the_shops_own_numbers(
    ilse: Person, signed_in: SignedIn, key: Key, invoice: Invoice
) -> None:
    Shop.objects.update(locale="de_DE")

    signed_in(ilse).post(address(invoice.pk), TYPED | {"amount": "12,50"} | key())

    assert Payment.objects.get().amount_minor == 1_250


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"amount": ""}, "Amount received is missing. Please fill it in."),
        ({"amount": "72.81"}, "an amount above 0 and at most $72.80, which is what is owed"),
        ({"amount": "0"}, "an amount above 0 and at most $72.80, which is what is owed"),
        ({"amount": "-5"}, "a number from 0 to"),
        ({"amount": "1.005"}, "a number with at most two decimals"),
        ({"amount": "twenty"}, "a number from 0 to"),
        ({"method": ""}, "Paid by is missing. Please fill it in."),
        ({"method": "shells"}, "shells is not one of the available choices"),
        ({"note": "x" * 201}, "at most 200 characters (it has 201)"),
    ],
)
def test_pay_that_is_not_right_is_kept_t27(
    change: dict[str, str], sentence: str, ilse: Person, signed_in: SignedIn, key: Key, invoice: Invoice
) -> None:
    typed = TYPED | change

    response = signed_in(ilse).post(address(invoice.pk), typed | key())

    content = response.content.decode()
    assert (response.status_code, Payment.objects.count()) == (422, 0)
    assert content.count(sentence) == 2
    assert [f'value="{typed[name]}"' in content for name in ("amount", "note") if typed[name]].count(
        False
    ) == 0


def test_pay_of_a_draft_is_refused(ilse: Person, by: ByPerson, signed_in: SignedIn, key: Key) -> None:
    response = signed_in(ilse).post(address(drafted(by=by(ilse)).pk), TYPED | key())

    assert response.status_code == 409
    assert "This invoice is still a draft." in response.content.decode()


def test_pay_of_settled_invoice_is_refused(
    ilse: Person, by: ByPerson, signed_in: SignedIn, key: Key, invoice: Invoice
) -> None:
    paid(invoice, "72.80", by=by(ilse))

    response = signed_in(ilse).post(address(invoice.pk), TYPED | key())

    assert (response.status_code, Payment.objects.count()) == (409, 1)


def test_pay_survives_every_bad_value(ilse: Person, signed_in: SignedIn, key: Key, invoice: Invoice) -> None:
    found = troubles_with_bad_values(
        signed_in(ilse),
        address(invoice.pk),
        good=lambda: TYPED | {"amount": "0.01"} | key(),
        fields=("amount", "method", "note"),
        hidden=("method",),
    )

    assert found == []
    assert sum(Payment.objects.values_list("amount_minor", flat=True)) <= 7_280


def test_pay_survives_every_bad_amount(ilse: Person, signed_in: SignedIn, key: Key, invoice: Invoice) -> None:
    before = row_counts()

    found = troubles_with_bad_values(
        signed_in(ilse),
        address(invoice.pk),
        good=lambda: TYPED | {"method": "no way"} | key(),
        fields=("amount",),
    )

    assert found == []
    assert row_counts() == before


def test_pay_of_missing_invoice_is_404(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    assert signed_in(ilse).post(address(999), TYPED | key()).status_code == 404


def test_technician_may_not_take_money(
    tobiah: Person, signed_in: SignedIn, key: Key, invoice: Invoice
) -> None:
    client = signed_in(tobiah)

    statuses = [client.post(address(pk), TYPED | key()).status_code for pk in (invoice.pk, 999)]

    assert (statuses, Payment.objects.count()) == ([403, 403], 0)


def test_pay_address_answers_no_get(ilse: Person, signed_in: SignedIn, invoice: Invoice) -> None:
    assert signed_in(ilse).get(address(invoice.pk)).status_code == 405
