"""The picker shows names and nothing of the shop; only people with a PIN who still work here."""

from collections.abc import Callable

from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from shopapp.models import Person
from tests.factories import JobFactory, PersonFactory
from tests.factories.devices import PIN, with_pin
from tests.factories.quotes import sent_quote

SignedIn = Callable[[Person], Client]


def test_picker_names_who_may_work(tablet: Client, tobiah: Person, wen: Person, ilse: Person) -> None:
    with_pin(ilse, at=timezone.now())
    gone = with_pin(PersonFactory.create(name="Ragna Moe", is_active=False), at=timezone.now())
    roleless = PersonFactory.create(name="Odd Lie", is_front_desk=False)
    with_pin(roleless, at=timezone.now())

    content = tablet.get("/devices/who/").content.decode()

    names = [tobiah.name, ilse.name, wen.name, gone.name, roleless.name]
    assert [name in content for name in names] == [True, True, False, False, False]


def test_nothing_of_the_shop_before_a_pin(tablet: Client, tobiah: Person) -> None:
    work_order = JobFactory.create(technician=tobiah).work_order

    answer = tablet.get(f"/work-orders/{work_order.pk}/")
    content = tablet.get("/devices/who/").content.decode()

    assert answer["Location"] == f"/devices/who/?next=/work-orders/{work_order.pk}/"
    assert (work_order.number in content, work_order.customer.name in content) == (False, False)
    assert "/find/" not in content


def test_picker_without_a_pin_says_what_to_do(tablet: Client) -> None:
    assert "Nobody has a PIN yet." in tablet.get("/devices/who/").content.decode()


def test_other_browsers_are_led_to_the_sign_in(client: Client, db: None) -> None:
    client.cookies["tablet"] = "A" * 43

    assert client.get("/devices/who/")["Location"] == "/people/sign-in/"


def test_picker_renews_the_cookie(tablet: Client) -> None:
    cookie = tablet.get("/devices/who/").cookies["tablet"]

    assert (cookie.value, cookie["max-age"]) == (tablet.cookies["tablet"].value, 400 * 24 * 3600)


def test_picker_asks_little(
    tablet: Client, tobiah: Person, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(20):
        with_pin(PersonFactory.create(name=f"Hand {number}"), at=timezone.now())

    with django_assert_num_queries(3):
        tablet.get("/devices/who/")


def test_tablet_that_a_customer_had_comes_back_by_pin(tablet: Client, ilse: Person, tobiah: Person) -> None:
    """Handed over at the counter: the desk's session ended, the customer's ends with the PIN."""
    revision = sent_quote(ilse, at=timezone.now())
    tablet.force_login(ilse)
    door = tablet.post(f"/quotes/{revision.pk}/hand-over/")["Location"]
    page = tablet.get(door, follow=True)
    assert 'href="/devices/who/"' in page.content.decode()
    assert tablet.get("/today/")["Location"] == "/devices/who/?next=/today/"

    tablet.post(f"/devices/worker/{tobiah.pk}/pin/", {"secret": PIN})

    assert tablet.get("/work-orders/").status_code == 200
    assert tablet.get("/approvals/decide/").status_code == 404


def test_customer_elsewhere_sees_no_way_to_the_shop(client: Client, ilse: Person) -> None:
    revision = sent_quote(ilse, at=timezone.now())
    client.force_login(ilse)

    page = client.get(client.post(f"/quotes/{revision.pk}/hand-over/")["Location"], follow=True)

    assert "/devices/" not in page.content.decode()
