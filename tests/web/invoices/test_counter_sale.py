"""The page of a sale over the counter: first the total, then the money."""

from collections.abc import Callable

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.search_texts import index
from shopapp.models import Invoice, Part, Payment, Person
from tests.factories import CustomerFactory
from tests.web.pages import text_of, values_of
from tests.web.shared.hostile import row_counts, troubles_with_bad_values

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
ADDRESS = "/invoices/counter-sale/"


@pytest.fixture
def impeller(shop: object) -> Part:
    return Part.objects.create(number="SR-4410", description="Impeller", unit_price_e4=482_500)


def test_total_is_shown_before_anything_is_sold(
    impeller: Part, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    typed = {"number_1": "SR-4410", "quantity_1": "2", "method": "cash"}

    response = signed_in(ilse).post(ADDRESS, typed | key())

    assert (response.status_code, Invoice.objects.count()) == (200, 0)
    assert "Take $108.09 and sell" in response.content.decode()
    assert list(values_of(response, "seen")) == ["10809"]
    assert list(values_of(response, "number_1")) == ["SR-4410"]


def test_total_that_was_seen_sells_once(impeller: Part, ilse: Person, signed_in: SignedIn, key: Key) -> None:
    client = signed_in(ilse)
    sent = {"number_1": "SR-4410", "quantity_1": "2", "method": "cash", "seen": "10809"} | key()

    answers = [client.post(ADDRESS, sent) for _ in range(2)]

    sale = Invoice.objects.get()
    assert [answer.headers["Location"] for answer in answers] == [f"/invoices/{sale.pk}/"] * 2
    assert (sale.number, Payment.objects.get().amount_minor) == ("INV-00001", 10_809)
    page = client.get(f"/invoices/{sale.pk}/").content.decode()
    assert ("Sale over the counter" in page, "work order" in page) == (True, False)


def test_bill_takes_the_name_of_the_customer_that_fits(
    impeller: Part, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    buyer = CustomerFactory(name="Quentin Asare", phone="604 555 0133")
    index(buyer)
    client = signed_in(ilse)
    typed = {"number_1": "SR-4410", "method": "cash", "whose": "quentin"}

    shown = client.post(ADDRESS, typed | key())
    client.post(ADDRESS, typed | {"seen": "5404"} | key())

    assert "On the bill: <strong>Quentin Asare</strong>, 604 555 0133" in text_of(shown)
    assert Invoice.objects.get().customer == buyer


def test_bill_is_for_the_one_that_was_chosen_of_several(
    impeller: Part, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    buyers = [CustomerFactory(name=name, phone="604 555 0133") for name in ("Quentin Asare", "Quentin Rowe")]
    for buyer in buyers:
        index(buyer)
    client = signed_in(ilse)
    typed = {"number_1": "SR-4410", "method": "cash", "whose": "quentin", "seen": "5404"}

    refused = [client.post(ADDRESS, typed | chosen | key()) for chosen in ({}, {"customer": "999"})]
    client.post(ADDRESS, typed | {"customer": str(buyers[1].pk)} | key())

    assert [(one.status_code, "Several fit." in text_of(one)) for one in refused] == [(422, True)] * 2
    assert Invoice.objects.get().customer == buyers[1]


def test_name_that_nobody_has_is_said_at_its_field(
    impeller: Part, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    typed = {"number_1": "SR-4410", "method": "cash", "whose": "nobody at all", "seen": "5404"}

    response = signed_in(ilse).post(ADDRESS, typed | key())

    assert (response.status_code, Invoice.objects.count()) == (422, 0)
    assert "Nobody known here fits." in text_of(response)


def test_price_that_changed_meanwhile_is_shown_again(
    impeller: Part, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    Part.objects.update(unit_price_e4=500_000)
    sent = {"number_1": "SR-4410", "method": "cash", "seen": "5404"}

    response = signed_in(ilse).post(ADDRESS, sent | key())

    assert (response.status_code, Invoice.objects.count()) == (200, 0)
    assert "Take $56.00 and sell" in response.content.decode()


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"number_1": "nobody's"}, "the number of a part on the list"),
        ({}, "what is sold, or the number of a part on the list"),
        ({"description_1": "Rope"}, "a price: the list has none for this"),
        ({"description_2": "Rope", "unit_price_2": "1"}, "what is sold, or the number"),
        ({"number_1": "SR-4410", "method": "shells"}, "shells is not one of the available choices"),
    ],
)
def test_what_is_not_right_is_said_and_kept(
    typed: dict[str, str], sentence: str, impeller: Part, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    response = signed_in(ilse).post(ADDRESS, {"method": "cash"} | typed | key())

    assert (response.status_code, Invoice.objects.count()) == (422, 0)
    assert sentence in response.content.decode()


def test_page_survives_every_bad_value(impeller: Part, ilse: Person, signed_in: SignedIn, key: Key) -> None:
    before = row_counts()

    found = troubles_with_bad_values(
        signed_in(ilse),
        ADDRESS,
        good=lambda: {"number_1": "SR-4410", "quantity_1": "1", "method": "cash"} | key(),
        fields=("number_1", "description_1", "quantity_1", "unit_price_1"),
        fine=(200, 422),
    )

    assert found == []
    assert row_counts() == before


def test_technician_sells_nothing(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    client = signed_in(tobiah)

    assert [client.get(ADDRESS).status_code, client.post(ADDRESS, key()).status_code] == [403, 403]


def test_page_needs_the_same_queries_at_any_length(
    ilse: Person, signed_in: SignedIn, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    client, counts = signed_in(ilse), []
    for length in (1, 100):
        Part.objects.bulk_create(
            Part(number=f"P{length}-{place}", description="Part", unit_cost_e4=7_654_321)
            for place in range(length)
        )
        with django_assert_num_queries(5):
            page = client.get(ADDRESS).content.decode()
        counts.append(page.count('<option value="P'))
        assert "765.43" not in page

    assert counts == [1, 101]
