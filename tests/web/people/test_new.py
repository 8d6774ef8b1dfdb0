"""Taking somebody in: the app makes the first password and shows it once."""

import re
from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import Activity, Person
from tests.web.shared.bad_values import tried_values

ADDRESS = "/people/new/"
BODY = {"name": "Runa Vik", "username": "runa", "roles": ["technician", "front_desk"]}
SignedIn = Callable[[Person], Client]


def test_somebody_new_gets_a_first_password(maren: Person, signed_in: SignedIn) -> None:
    response = signed_in(maren).post(ADDRESS, BODY)

    text = response.content.decode()
    password = re.search(r'id="first-password"><strong>([a-z0-9-]+)<', text).group(1)
    runa = Person.objects.get(username="runa")
    assert (response.status_code, re.fullmatch(r"([a-z2-9]{5}-){3}[a-z2-9]{5}", password) is not None) == (
        200,
        True,
    )
    assert (runa.is_technician, runa.is_front_desk, runa.is_owner) == (True, True, False)
    assert (runa.check_password(password), runa.first_until is not None) == (True, True)
    assert password not in " ".join(str(row.payload) for row in Activity.objects.all())


def test_first_passwords_differ(maren: Person, signed_in: SignedIn) -> None:
    client = signed_in(maren)
    texts = [client.post(ADDRESS, BODY | {"username": f"runa{count}"}).content.decode() for count in range(5)]

    found = {re.search(r'id="first-password"><strong>([a-z0-9-]+)<', text).group(1) for text in texts}

    assert len(found) == 5


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"username": "maren"}, "There is somebody with the sign-in name maren already."),
        ({"username": "Runa Vik"}, "Use small letters, digits, dots and hyphens"),
        ({"name": " "}, "Name is missing. Please fill it in."),
        ({"roles": []}, "Works as is missing. Please fill it in."),
        ({"roles": ["captain"]}, "Choose from the list."),
    ],
)
def test_what_is_wrong_is_said_at_its_field(
    maren: Person, signed_in: SignedIn, changes: dict[str, object], says: str
) -> None:
    response = signed_in(maren).post(ADDRESS, BODY | changes)

    assert (response.status_code, says in response.content.decode(), Person.objects.count()) == (422, True, 1)


def test_only_the_owner_takes_people_in(ilse: Person, signed_in: SignedIn) -> None:
    assert (signed_in(ilse).post(ADDRESS, BODY).status_code, Person.objects.count()) == (403, 1)


def test_new_person_answers_every_bad_value(maren: Person, signed_in: SignedIn) -> None:
    client = signed_in(maren)

    for value in tried_values():
        statuses = {
            client.post(ADDRESS, BODY | {field: value}).status_code for field in ("username", "roles")
        }
        # some odd values are good names to sign in with
        assert statuses <= {200, 422}, value[:40]
