"""Ending a tablet: its next request is out, and so is whoever works at it."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Device, Person

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def test_ended_tablet_is_out_with_its_next_request(
    maren: Person, tobiah: Person, signed_in: SignedIn, by_pin: SignedIn, key: Key
) -> None:
    tablet, device = by_pin(tobiah), Device.objects.get()
    assert tablet.get("/work-orders/").status_code == 200

    response = signed_in(maren).post(f"/devices/{device.pk}/end/", key(), follow=True)

    assert "Bench tablet 1 is no longer signed in." in response.content.decode()
    assert tablet.get("/work-orders/")["Location"] == "/people/sign-in/?next=/work-orders/"
    assert tablet.get("/devices/who/")["Location"] == "/people/sign-in/"


def test_double_send_ends_once(maren: Person, signed_in: SignedIn, tablet: Client, key: Key) -> None:
    client, sent = signed_in(maren), key()
    address = f"/devices/{Device.objects.get().pk}/end/"

    answers = [client.post(address, sent) for _ in range(2)]

    assert [answer["Location"] for answer in answers] == ["/devices/", "/devices/"]
    assert client.post(address, key()).status_code == 409
