"""Setting up one's second step: with the password, proved by its first digits; owed by owners."""

import re
from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions.second_steps import CODES, new_salt
from shopapp.models import Activity, Person, RecoveryCode, SecondStep
from tests.factories import PASSWORD
from tests.web.people.conftest import digits, wrong_digits

ADDRESS = "/people/second-step/"
SignedIn = Callable[[Person], Client]
Stepped = Callable[[Person], SecondStep]


def shown(client: Client) -> str:
    """The salt of the seed that the page shows: it comes from the session's own key."""
    return new_salt(client.session.session_key)


def set_up(client: Client, *, code: str = "", password: str = PASSWORD) -> str:
    response = client.post(ADDRESS, {"code": code or digits(shown(client)), "password": password})
    return f"{response.status_code} {response.content.decode()}"


def test_page_shows_picture_and_seed(ilse: Person, signed_in: SignedIn) -> None:
    client = signed_in(ilse)

    first, second = (client.get(ADDRESS).content.decode() for _ in range(2))

    seeds = [re.search(r"<p class=\"mono[^>]*>([A-Z2-7 ]+)</p>", text).group(1) for text in (first, second)]
    assert (len(seeds[0].replace(" ", "")), seeds[0]) == (32, seeds[1])
    assert "<svg" in first
    assert SecondStep.objects.count() == 0


def test_page_names_no_codes_that_do_not_exist_yet(ilse: Person, signed_in: SignedIn) -> None:
    client = signed_in(ilse)

    before = client.get(ADDRESS).content.decode()
    set_up(client)
    after = client.get(ADDRESS).content.decode()

    assert [text.count("codes from paper") for text in (before, after)] == [0, 1]


def test_first_digits_set_it_up_and_codes_are_shown_once(ilse: Person, signed_in: SignedIn) -> None:
    client = signed_in(ilse)

    text = set_up(client)

    codes = re.findall(r"\b(?:[A-Z2-9]{6}-){3}[A-Z2-9]{6}\b", text)
    again = client.get(ADDRESS).content.decode()
    assert (text[:3], len(codes), len(set(codes))) == ("200", CODES, CODES)
    assert ([code for code in codes if code in again], "8 codes on paper are left." in again) == ([], True)
    kept = " ".join(f"{one.digest}" for one in RecoveryCode.objects.all())
    told = " ".join(str(row.payload) for row in Activity.objects.all())
    assert [code for code in codes if code in kept + told or code.replace("-", "") in kept + told] == []
    assert Activity.objects.get(verb="set up second step").record == f"person:{ilse.pk}"


def test_seed_is_not_in_the_database(ilse: Person, signed_in: SignedIn) -> None:
    client = signed_in(ilse)
    seed = re.search(r"<p class=\"mono[^>]*>([A-Z2-7 ]+)</p>", client.get(ADDRESS).content.decode()).group(1)
    set_up(client)

    assert seed.replace(" ", "") not in str(SecondStep.objects.values().get())


@pytest.mark.parametrize(
    ("password", "is_wrong_code", "says"),
    [("wrong-and-kelp-7", False, "This is not your password."), (PASSWORD, True, "These digits do not fit.")],
)
def test_setting_up_needs_password_and_digits(
    ilse: Person, signed_in: SignedIn, password: str, is_wrong_code: bool, says: str
) -> None:
    client = signed_in(ilse)
    code = wrong_digits(shown(client)) if is_wrong_code else ""

    text = set_up(client, code=code, password=password)

    assert (text[:3], says in text, SecondStep.objects.count()) == ("422", True, 0)


def test_digits_of_setting_up_are_used_up(ilse: Person, signed_in: SignedIn) -> None:
    client = signed_in(ilse)
    code = digits(shown(client))
    set_up(client, code=code)
    door = Client()
    door.post("/people/sign-in/", {"username": "ilse", "password": PASSWORD})

    assert door.post("/people/prove/", {"code": code}).status_code == 422


def test_owner_owes_it_where_the_shop_is_reached_from_outside(
    maren: Person, signed_in: SignedIn, settings: object
) -> None:
    settings.OWNER_SECOND_STEP = True
    client = signed_in(maren)

    led = {
        path: client.get(path).headers["Location"] for path in ("/", "/today/", "/people/", "/shop/terms/")
    }
    part = client.get("/find/", headers={"hx-request": "true"})
    page = client.get(ADDRESS).content.decode()

    assert set(led.values()) == {ADDRESS}
    assert (part.status_code, part.headers["HX-Redirect"]) == (204, ADDRESS)
    assert "Nothing else opens before it is set up." in page
    assert client.post("/people/sign-out/").headers["Location"] == "/people/sign-in/"


def test_all_opens_once_it_is_set_up(maren: Person, signed_in: SignedIn, settings: object) -> None:
    settings.OWNER_SECOND_STEP = True
    client = signed_in(maren)

    set_up(client)

    assert client.get("/today/").status_code == 200


def test_others_do_not_owe_it(ilse: Person, tobiah: Person, signed_in: SignedIn, settings: object) -> None:
    settings.OWNER_SECOND_STEP = True

    assert signed_in(ilse).get("/today/").status_code == 200
    assert signed_in(tobiah).get("/work-orders/").status_code == 200


def test_there_is_one_second_step_a_person(ilse: Person, signed_in: SignedIn, stepped: Stepped) -> None:
    client = signed_in(ilse)
    stepped(ilse)

    response = client.post(ADDRESS, {"code": digits(shown(client)), "password": PASSWORD})

    assert response.status_code == 200
    assert SecondStep.objects.get().salt == "salt of ilse"
