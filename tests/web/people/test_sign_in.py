"""Signing in: one sentence for every miss, nothing to go by, and never to another host."""

import pytest
from django.http import QueryDict
from django.test import Client

from shopapp.models import BrowserSession, MissCount, Person
from tests.factories import PASSWORD, PersonFactory
from tests.web.shared.bad_values import tried_values

ADDRESS = "/people/sign-in/"
MISS = "Name and password do not fit together. Try again."


def test_sign_in_page_asks_for_name_and_password(client: Client, shop: object) -> None:
    response = client.get(ADDRESS)

    content = response.content.decode()
    assert response.status_code == 200
    assert content.count('type="password"') == 1
    assert 'autocomplete="username"' in content
    assert response.headers["Cache-Control"] == "no-store"


def test_sign_in_leads_to_where_the_day_begins(client: Client, ilse: Person) -> None:
    response = client.post(ADDRESS, {"username": "ilse", "password": PASSWORD})

    assert (response.status_code, response.headers["Location"]) == (302, "/")
    assert client.session["_auth_user_id"] == str(ilse.pk)


def test_sign_in_leads_where_somebody_wanted_to_go(client: Client, ilse: Person) -> None:
    first = client.get("/customers/?page=2")
    asked = client.get(first.headers["Location"])
    response = client.post(ADDRESS, {"username": "ilse", "password": PASSWORD, "next": "/customers/?page=2"})

    assert first.headers["Location"] == "/people/sign-in/?next=/customers/%3Fpage%3D2"
    assert 'name="next" value="/customers/?page=2"' in asked.content.decode()
    assert response.headers["Location"] == "/customers/?page=2"


@pytest.mark.parametrize(
    ("came_from", "page"),
    [
        ("http://testserver/work-orders/4/?x=1#part", "/work-orders/4/%3Fx%3D1"),
        ("http://testserver/", "/"),
        ("", "/"),
        ("https://evil.example/work-orders/4/", "/"),
        ("http://testserver@evil.example/", "/"),
        ("http://testserver//evil.example/", "/"),
        ("javascript:alert(1)", "/"),
        ("http://[bad", "/"),
    ],
)
def test_lost_form_comes_back_to_its_page(client: Client, ilse: Person, came_from: str, page: str) -> None:
    response = client.post("/work-orders/job/4/use-part/", {}, headers={"referer": came_from})

    assert (response.status_code, response.headers["Location"]) == (302, f"/people/sign-in/?next={page}")


def test_lost_form_ends_on_a_page(client: Client, ilse: Person) -> None:
    lost = client.post("/people/sign-out/", headers={"referer": "http://testserver/customers/"})
    wanted = QueryDict(lost.headers["Location"].partition("?")[2])["next"]

    response = client.post(ADDRESS, {"username": "ilse", "password": PASSWORD, "next": wanted}, follow=True)

    assert (response.status_code, response.request["PATH_INFO"]) == (200, "/customers/")


@pytest.mark.parametrize(
    "wanted",
    [
        "https://evil.example/",
        "//evil.example/",
        "/\\evil.example/",
        "\\\\evil.example",
        "http:evil.example",
        "javascript:alert(1)",
        "\x01https://evil.example",
        "https://testserver.evil.example/",
        "https://testserver@evil.example/",
    ],
)
def test_sign_in_never_leads_to_another_host(client: Client, ilse: Person, wanted: str) -> None:
    page = client.get(ADDRESS, {"next": wanted})
    response = client.post(ADDRESS, {"username": "ilse", "password": PASSWORD, "next": wanted})

    assert "evil.example" not in page.content.decode()
    assert response.headers["Location"] == "/"


@pytest.mark.parametrize(
    ("username", "password"),
    [("ilse", "wrong-and-kelp-7"), ("nobody", PASSWORD), ("gone", PASSWORD), ("ILSE", PASSWORD)],
)
def test_every_miss_gets_one_sentence(client: Client, ilse: Person, username: str, password: str) -> None:
    PersonFactory(username="gone", is_active=False)

    response = client.post(ADDRESS, {"username": username, "password": password})

    content = response.content.decode()
    assert response.status_code == 422
    assert content.count(MISS) == 1
    assert "_auth_user_id" not in client.session
    assert f'value="{username}"' in content


@pytest.mark.parametrize("password", ["wrong-and-kelp-7", PASSWORD])
def test_password_stands_in_no_page_and_no_log(
    client: Client, ilse: Person, password: str, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level("DEBUG")

    response = client.post(ADDRESS, {"username": "ilse", "password": password})
    page = client.get(ADDRESS)

    texts = (response.content.decode(), page.content.decode(), caplog.text, str(response.headers))
    assert [text for text in texts if password in text] == []


def test_refused_sign_in_is_logged_without_its_name(
    client: Client, ilse: Person, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level("INFO", logger="shopapp.access")

    client.post(ADDRESS, {"username": "my secret by mistake", "password": "x"})

    ours = [record.getMessage() for record in caplog.records if record.name == "shopapp.access"]
    assert ours == ["refused to sign somebody in from 127.0.0.1"]
    assert "my secret by mistake" not in caplog.text


def test_session_key_changes_at_sign_in(client: Client, ilse: Person) -> None:
    session = client.session
    session["planted"] = True
    session.save()
    planted = session.session_key

    client.post(ADDRESS, {"username": "ilse", "password": PASSWORD})

    assert client.session.session_key != planted
    assert BrowserSession.objects.filter(session_key=planted).count() == 0


def test_session_of_somebody_else_is_emptied_at_sign_in(client: Client, ilse: Person, maren: Person) -> None:
    client.force_login(maren)
    session = client.session
    session["left behind"] = "by Maren"
    session.save()

    client.post(ADDRESS, {"username": "ilse", "password": PASSWORD})

    assert "left behind" not in client.session
    assert client.session["_auth_user_id"] == str(ilse.pk)


def test_person_who_left_is_signed_out_t15(client: Client, ilse: Person) -> None:
    client.force_login(ilse)
    Person.objects.filter(pk=ilse.pk).update(is_active=False)

    response = client.get("/customers/")

    assert (response.status_code, response.headers["Location"]) == (302, "/people/sign-in/?next=/customers/")


def test_sign_in_from_another_origin_is_refused_t14(ilse: Person) -> None:
    client = Client(enforce_csrf_checks=True)

    response = client.post(
        ADDRESS, {"username": "ilse", "password": PASSWORD}, headers={"origin": "https://evil.example"}
    )

    assert response.status_code == 403
    assert "_auth_user_id" not in client.session


@pytest.mark.parametrize(
    "body", [{}, {"username": "ilse"}, {"password": PASSWORD}, {"username": "a\x00b", "password": "x"}]
)
def test_incomplete_sign_in_says_what_is_missing(client: Client, ilse: Person, body: dict[str, str]) -> None:
    response = client.post(ADDRESS, body)

    assert response.status_code == 422
    assert 'class="field-error"' in response.content.decode()


def test_sign_in_answers_every_bad_value(client: Client, ilse: Person) -> None:
    for value in tried_values():
        # this is about answers, not about the limit
        MissCount.objects.all().delete()
        as_name = client.post(ADDRESS, {"username": value, "password": PASSWORD})
        as_password = client.post(ADDRESS, {"username": "ilse", "password": value})

        assert (as_name.status_code, as_password.status_code) == (422, 422), value[:40]
        assert 'id="error-summary"' in as_name.content.decode(), value[:40]
    assert "_auth_user_id" not in client.session
