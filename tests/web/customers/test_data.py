"""The page about a customer's data: what would stay and why, and what stands in the way."""

from collections.abc import Callable

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.actions.erasing import erase_customer
from shopapp.models import Customer, Person, QuoteRevision, WorkOrder
from tests.factories.invoices import copied, issued
from tests.factories.persons import MARKED, somebody
from tests.web.pages import text_of

pytestmark = pytest.mark.django_db

Acting = Callable[[Person], Actor]
SignedIn = Callable[[Person], Client]


def test_owner_reads_what_would_stay_and_until_when_t36(
    maren: Person, by: Acting, signed_in: SignedIn
) -> None:
    customer = somebody(by=by(maren), is_billed=True)

    page = text_of(signed_in(maren).get(f"/customers/{customer.pk}/data/"))

    assert "invoices must be kept: until 2 Jun 2036, 10 years from the newest" in page
    assert "Erase for good" in page


def test_without_a_bill_nothing_signed_has_to_stay(maren: Person, by: Acting, signed_in: SignedIn) -> None:
    customer = somebody(by=by(maren), is_billed=False)

    page = text_of(signed_in(maren).get(f"/customers/{customer.pk}/data/"))

    assert "No invoice was issued, so nothing signed has to stay." in page


def test_obstacle_is_said_instead_of_the_button(maren: Person, by: Acting, signed_in: SignedIn) -> None:
    bill = issued(by=by(maren))

    page = text_of(signed_in(maren).get(f"/customers/{bill.customer_id}/data/"))

    assert ("There is open work: " in page, "Erase for good" in page) == (True, False)


@pytest.mark.parametrize("who", ["ilse", "tobiah"])
def test_data_is_the_owners(request: pytest.FixtureRequest, maren: Person, by: Acting, who: str) -> None:
    customer = somebody(by=by(maren), is_billed=True)
    client: Client = request.getfixturevalue("signed_in")(request.getfixturevalue(who))

    statuses = [client.get(f"/customers/{customer.pk}/{page}/").status_code for page in ("data", "data-file")]

    assert statuses == [403, 403]


@pytest.mark.parametrize("size", [0, 30])
def test_page_takes_the_same_queries_at_any_size(
    *,
    size: int,
    maren: Person,
    by: Acting,
    signed_in: SignedIn,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    customer = somebody(by=by(maren), is_billed=False)
    for bill in copied(issued(by=by(maren)), size):
        WorkOrder.objects.filter(pk=bill.work_order_id).update(stage="cancelled", customer=customer)
    client = signed_in(maren)

    with django_assert_num_queries(10 if size == 0 else 8):
        client.get(f"/customers/{customer.pk}/data/")


@pytest.mark.parametrize("is_billed", [True, False])
def test_pages_of_somebody_erased_work_and_name_nobody(
    maren: Person, by: Acting, signed_in: SignedIn, is_billed: bool
) -> None:
    customer = somebody(by=by(maren), is_billed=is_billed)
    erase_customer(customer.pk, by=by(maren))
    visit, revision = WorkOrder.objects.get(), QuoteRevision.objects.get()
    client = signed_in(maren)
    pages = (
        *(f"/customers/{customer.pk}/", f"/customers/{customer.pk}/data/", "/customers/", "/"),
        *(f"/work-orders/{visit.pk}/", f"/customers/vessel/{visit.vessel_id}/", f"/find/?q={MARKED}"),
        *("/invoices/?show=all", "/calls/", "/customers/table/"),
        # what was planted as signed here is no real text
        *(() if is_billed else (f"/arrivals/{visit.pk}/taken-in/",)),
    )

    answers = {page: client.get(page, follow=True) for page in pages}

    assert {page: one.status_code for page, one in answers.items()} == dict.fromkeys(pages, 200)
    for name, page in answers.items():
        # the visit shows who signed what was billed
        if not name.startswith("/find/") and not (is_billed and name.startswith("/work-orders/")):
            assert MARKED.encode() not in page.getvalue(), name
    if not is_billed:
        shown = client.get(f"/quotes/{revision.pk}/preview/")
        assert (shown.status_code, "was erased" in text_of(shown)) == (410, True)
    assert Customer.objects.get().name == f"Erased customer {customer.pk}"
