"""One's own PIN: the current password is needed; neither is ever shown or kept in a request key."""

from collections.abc import Callable

import pytest
from django.contrib.auth.hashers import check_password
from django.test import Client

from shopapp.models import Activity, Person, Pin, RequestKey
from tests.factories import PASSWORD
from tests.factories.devices import PIN

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]

SENT = {"password": PASSWORD, "pin": PIN, "again": PIN}


def test_own_pin_is_set(wen: Person, signed_in: SignedIn, key: Key) -> None:
    client = signed_in(wen)
    assert "You have no PIN yet." in client.get("/devices/own-pin/").content.decode()

    response = client.post("/devices/own-pin/", SENT | key(), follow=True)

    content = response.content.decode()
    assert "Your PIN is set. It counts at every tablet of the shop." in content
    assert ("Your PIN was set on" in content, PIN in content) == (True, False)
    assert check_password(PIN, Pin.objects.get(person=wen).code)
    assert RequestKey.objects.count() == 0


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"password": "sea-salt"}, "This is not your password. Try again."),
        ({"again": "480158"}, "The two PINs differ. Type the same one twice."),
        ({"pin": "48015", "again": "48015"}, "A PIN is six digits."),
        ({"pin": "123456", "again": "123456"}, "harder to guess"),
    ],
)
def test_refused_pin_is_said_and_not_repeated(
    wen: Person, signed_in: SignedIn, wrong: dict[str, str], sentence: str
) -> None:
    response = signed_in(wen).post("/devices/own-pin/", SENT | wrong)

    content = response.content.decode()
    assert (response.status_code, sentence in content, Pin.objects.count()) == (422, True, 0)
    assert PASSWORD not in content
    assert f'value="{wrong.get("pin", PIN)}"' not in content


def test_password_is_not_guessed_for_ever(wen: Person, signed_in: SignedIn) -> None:
    client = signed_in(wen)
    for _ in range(10):
        client.post("/devices/own-pin/", SENT | {"password": "sea-salt"})

    answer = client.post("/devices/own-pin/", SENT)

    assert "There were too many wrong tries." in answer.content.decode()
    assert Pin.objects.count() == 0
    assert Activity.objects.filter(verb="many wrong sign-ins").count() == 1
