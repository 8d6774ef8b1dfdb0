"""Guessing passwords is limited for all workers together, and never locks the owner's own browser out."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.actions.sign_ins import MOST_OF_A_NAME, MOST_OF_A_PLACE
from shopapp.models import Activity, MissCount, Person
from tests.factories import PASSWORD

ADDRESS = "/people/sign-in/"
WRONG = {"username": "maren", "password": "wrong-and-kelp-7"}
RIGHT = {"username": "maren", "password": PASSWORD}


def tries(count: int, body: dict[str, str], place: str = "203.0.113.9") -> list[int]:
    """So many tries, each of a fresh browser."""
    return [Client(REMOTE_ADDR=place).post(ADDRESS, body).status_code for _ in range(count)]


def test_wrong_passwords_for_a_name_are_limited(maren: Person) -> None:
    statuses = tries(MOST_OF_A_NAME + 1, WRONG)

    answer = Client(REMOTE_ADDR="198.51.100.7").post(ADDRESS, RIGHT)

    assert statuses == [422] * MOST_OF_A_NAME + [429]
    assert (answer.status_code, 0 < int(answer.headers["Retry-After"]) <= 901) == (429, True)
    assert "There were too many wrong tries. Wait 15 minutes, then try again." in answer.content.decode()


def test_unknown_name_is_limited_in_the_same_way(maren: Person) -> None:
    statuses = tries(MOST_OF_A_NAME + 1, WRONG | {"username": "nobody"})

    assert statuses == [422] * MOST_OF_A_NAME + [429]


def test_wrong_passwords_from_a_place_are_limited(maren: Person) -> None:
    statuses = [tries(1, WRONG | {"username": f"name{count}"})[0] for count in range(MOST_OF_A_PLACE + 1)]

    assert statuses == [422] * MOST_OF_A_PLACE + [429]
    assert tries(1, WRONG | {"username": "another"}, place="198.51.100.7") == [422]


def test_owner_gets_in_while_somebody_guesses_elsewhere(maren: Person) -> None:
    """Whoever knows a name can keep strangers' browsers waiting, but not one in which she was before."""
    own = Client()
    own.post(ADDRESS, RIGHT)
    own.post("/people/sign-out/")
    tries(MOST_OF_A_NAME + 1, WRONG)

    assert (tries(1, RIGHT), own.post(ADDRESS, RIGHT).status_code) == ([429], 302)


def test_known_browser_has_a_limit_of_its_own(maren: Person) -> None:
    own = Client()
    own.post(ADDRESS, RIGHT)

    statuses = [own.post(ADDRESS, WRONG).status_code for _ in range(MOST_OF_A_NAME + 1)]

    assert statuses == [422] * MOST_OF_A_NAME + [429]


def test_browser_is_known_for_its_own_people_only(maren: Person, ilse: Person) -> None:
    own = Client()
    own.post(ADDRESS, {"username": "ilse", "password": PASSWORD})
    tries(MOST_OF_A_NAME, WRONG)

    assert own.post(ADDRESS, RIGHT).status_code == 429


@pytest.mark.parametrize("cookie", ["", "nonsense", "abc.def:1x:forged", "a" * 4000])
def test_forged_cookie_makes_no_browser_known(maren: Person, cookie: str) -> None:
    tries(MOST_OF_A_NAME, WRONG)
    client = Client()
    client.cookies["known"] = cookie

    assert client.post(ADDRESS, RIGHT).status_code == 429


def test_limit_ends_by_itself(maren: Person) -> None:
    tries(MOST_OF_A_NAME + 1, WRONG)
    MissCount.objects.update(since_at=timezone.now() - timedelta(minutes=15))

    assert tries(1, RIGHT) == [302]


def test_good_sign_ins_do_not_count(maren: Person) -> None:
    assert tries(MOST_OF_A_NAME + 2, RIGHT) == [302] * (MOST_OF_A_NAME + 2)


def test_forwarded_address_is_not_believed(maren: Person) -> None:
    for number in range(MOST_OF_A_PLACE + 1):
        client = Client(headers={"X-Forwarded-For": f"203.0.113.{number}"})
        answer = client.post(ADDRESS, WRONG | {"username": f"name{number}"})

    assert answer.status_code == 429


def test_sign_ins_stand_in_the_chain_without_a_password(maren: Person) -> None:
    tries(MOST_OF_A_NAME + 3, WRONG)
    tries(1, {"username": "my password by mistake", "password": "x"})
    MissCount.objects.all().delete()
    tries(1, RIGHT)

    rows = Activity.objects.order_by("seq").values_list("verb", "record", "payload")
    verbs = [verb for verb, _, _ in rows]
    missed = ["miss sign-in"] * MOST_OF_A_NAME
    assert verbs == [*missed, "many wrong sign-ins", "miss sign-in", "sign in"]
    assert {record for verb, record, _ in rows[:MOST_OF_A_NAME]} == {f"person:{maren.pk}"}
    assert rows[0][2] == '{"address": "203.0.113.9", "step": "password"}'
    told = " ".join(f"{verb} {record} {payload}" for verb, record, payload in rows)
    assert [secret for secret in ("kelp", "mistake") if secret in told] == []
