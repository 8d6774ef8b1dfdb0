"""What holds for every answer: no foreign or inline code, nothing kept by browsers, no frames."""

import logging
import re
from collections.abc import Iterator
from html.parser import HTMLParser

import pytest
from django.apps import apps
from django.conf import settings
from django.http import HttpResponse
from django.test import Client

from shopapp.models import Person
from tests.factories import PASSWORD
from tests.web.addresses import Address, addresses
from tests.web.answers import Asked, Table, Told, browser, key_of, rolled_back
from tests.web.shared.bad_values import share_of_today
from tests.web.test_access_table import is_public, named
from tests.web.world import World

# without the mark there would be no test database, and the answers would come from the developer's own
pytestmark = pytest.mark.django_db

# each kind of thing and from where it may come, as the design page on promises asks: nothing from elsewhere,
# nothing inline but what carries the nonce of this answer
POLICY = {
    "default-src": "'none'",
    "script-src": "'self' 'nonce'",
    "style-src": "'self'",
    "img-src": "'self' data: blob:",
    "font-src": "'self'",
    "connect-src": "'self'",
    "manifest-src": "'self'",
    "worker-src": "'self'",
    "form-action": "'self'",
    "base-uri": "'none'",
    "frame-ancestors": "'none'",
    "object-src": "'none'",
}
# a photo may be kept, but the shop is asked each time before it is shown again
KEPT_BY_ONE_BROWSER = {"media:photo": "private, no-cache"}
# answered to a program of the tablet's own, which shows no page: 401 and a sentence where it is not known
ASKED_BY_PROGRAMS = ("bench:entries", "bench:photo", "bench:state")
KEPT_BY_ALL = {
    # nothing of the shop but its name: kept so that the bench opens, asked for so that it can be mended
    "service_worker:service_worker": "no-cache",
    "service_worker:manifest": "no-cache",
}
ELSEWHERE = "https://evil.example"


class Page(HTMLParser):
    """What in a page the policy would stop."""

    def __init__(self, body: bytes) -> None:
        super().__init__()
        self.stopped: list[str] = []
        self.feed(body.decode())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "style" or (tag == "script" and "src" not in given and not _is_data(given)):
            self.stopped.append(f"<{tag}>")
        self.stopped += [f"{name}=" for name in given if re.match(r"on|style$|hx-on|hx-vals$|hx-vars$", name)]
        links = [given.get(name) or "" for name in ("src", "href", "action", "data") if name in given]
        self.stopped += [link for link in links if re.match(r"\w+:(?!/)|https?:|//", link) and tag != "a"]


def _is_data(given: dict[str, str | None]) -> bool:
    return given.get("type") == "application/json"


def policy_of(answer: Told) -> dict[str, str]:
    header = re.sub(r"'nonce-[\w-]{20,}=*'", "'nonce'", answer.headers.get("Content-Security-Policy", ""))
    return dict(part.strip().split(" ", 1) for part in header.split(";") if part.strip())


def pages(table: Table) -> Iterator[tuple[Asked, Told]]:
    """Every answer that is a page to read."""
    for asked, answer in table.items():
        if answer.headers.get("Content-Type", "").startswith("text/html"):
            yield asked, answer


def test_every_answer_carries_the_policy(table: Table) -> None:
    # the nonce is named only where the page uses it
    plain = POLICY | {"script-src": "'self'"}

    wrong = [named(asked) for asked, answer in table.items() if policy_of(answer) not in (POLICY, plain)]

    assert wrong == []


def test_no_page_holds_what_the_policy_stops(table: Table) -> None:
    stopped = {named(asked): found for asked, answer in pages(table) if (found := Page(answer.body).stopped)}

    assert stopped == {}


@pytest.mark.parametrize(
    ("markup", "stopped"),
    [
        (b"<script>alert(1)</script>", ["<script>"]),
        (b"<style>p{}</style>", ["<style>"]),
        (b'<p style="color:red" onclick="x()">', ["style=", "onclick="]),
        (b'<button hx-on:click="x()">', ["hx-on:click="]),
        (b'<img src="https://evil.example/x.png">', ["https://evil.example/x.png"]),
        (b'<script src="//evil.example/x.js">', ["//evil.example/x.js"]),
        (b'<form action="javascript:x()">', ["javascript:x()"]),
        (b'<script src="/static/js/theme.js"></script><a href="https://shop.example">', []),
    ],
)
def test_page_check_notices_what_is_stopped(markup: bytes, stopped: list[str]) -> None:
    assert Page(markup).stopped == stopped


@pytest.mark.parametrize(
    ("header", "value"),
    [
        ("X-Robots-Tag", "noindex"),
        ("X-Content-Type-Options", "nosniff"),
        ("X-Frame-Options", "DENY"),
        ("Cross-Origin-Opener-Policy", "same-origin"),
    ],
)
def test_every_answer_carries_the_header(table: Table, header: str, value: str) -> None:
    others = {named(asked): told.headers.get(header) for asked, told in table.items()}

    assert {name: found for name, found in others.items() if found != value} == {}


def test_nothing_private_is_kept_by_browsers(table: Table) -> None:
    kept = {
        (asked.address.name, answer.headers.get("Cache-Control", ""))
        for asked, answer in table.items()
        if not re.search(r"\bno-store\b", answer.headers.get("Cache-Control", ""))
    }
    varies = {
        re.search(r"\bCookie\b", answer.headers.get("Vary", "")) is not None
        for asked, answer in table.items()
        if asked.address.name in KEPT_BY_ONE_BROWSER and answer.status == 200
    }

    assert kept == set((KEPT_BY_ONE_BROWSER | KEPT_BY_ALL).items())
    assert varies == {True}


def test_no_address_is_told_to_other_sites(table: Table) -> None:
    told = {answer.headers.get("Referrer-Policy") for answer in table.values()}
    customers = {
        answer.headers.get("Referrer-Policy")
        for asked, answer in table.items()
        if asked.address.name.startswith("approvals:") and answer.status not in (405,)
    }

    assert told == {"same-origin", "no-referrer"}
    assert customers == {"no-referrer"}


@pytest.mark.parametrize(
    "path", ["/work-orders", "/nowhere/", "/people/sign-in", "/static/nothing.css", "/%00", "/é"]
)
def test_answers_outside_the_list_carry_the_headers(path: str) -> None:
    response = Client().get(path)

    assert response.status_code in (301, 404)
    assert (response.headers["Cache-Control"], response.headers["X-Robots-Tag"]) == ("no-store", "noindex")
    assert response.headers["Content-Security-Policy"].partition(";")[0] == "default-src 'none'"


def test_foreign_host_is_refused_with_the_headers() -> None:
    response = Client(raise_request_exception=False).get("/people/sign-in/", headers={"host": "evil.example"})

    assert response.status_code == 400
    assert response.headers["Cache-Control"] == "no-store"


def test_there_is_no_admin_site() -> None:
    routes = [address.route for address in addresses()]

    assert [route for route in routes if "admin" in route] == []
    assert apps.is_installed("django.contrib.admin") is False


def flags(response: HttpResponse, name: str) -> tuple[object, ...]:
    morsel = response.cookies[name]
    return morsel["httponly"], morsel["samesite"], morsel["path"], morsel["domain"]


def test_session_cookie_is_for_this_site_alone(world: World) -> None:
    client = Client()

    response = client.post("/people/sign-in/", {"username": "ilse", "password": PASSWORD})

    assert flags(response, settings.SESSION_COOKIE_NAME) == (True, "Lax", "/", "")
    assert flags(response, settings.CSRF_COOKIE_NAME) == (True, "Lax", "/", "")


def test_customers_cookie_is_for_the_customers_room_alone(world: World) -> None:
    response = Client().get(f"/approvals/enter/{world.own['token']}/")

    assert flags(response, "customer") == (True, "Lax", "/approvals/", "")
    assert sorted(response.cookies) == ["customer"]


def test_session_is_another_after_the_sign_in(world: World) -> None:
    client = Client()
    client.cookies.load(world.cookies["front desk"])
    before = client.cookies[settings.SESSION_COOKIE_NAME].value

    client.post("/people/sign-in/", {"username": "maren", "password": PASSWORD})

    assert client.cookies[settings.SESSION_COOKIE_NAME].value != before


def read(response: HttpResponse) -> HttpResponse:
    """An answer, read to its end: only then does the browser of the tests close it."""
    response.getvalue()
    return response


def path_of(address: Address, world: World) -> str:
    asked = Asked(address=address, record="own", role="owner", method="POST")
    return address.path(key_of(asked, world))


def role_for(address: Address) -> str:
    return "customer link" if address.name.startswith("approvals:") else "owner"


def test_post_from_elsewhere_is_refused_everywhere_t14(world: World, table: Table) -> None:
    statuses = {}
    for address in addresses():
        for headers in ({"origin": ELSEWHERE}, {"referer": f"{ELSEWHERE}/page"}, {"origin": "null"}, {}):
            client = browser(role_for(address), world, enforce_csrf_checks=True)
            with rolled_back():
                response = client.post(path_of(address, world), {"answer": "approve"}, headers=headers)
            statuses[address.name, *headers.values()] = response.status_code

    # a door that has not got a form says so first
    assert {key: status for key, status in statuses.items() if status not in {403, 405}} == {}


def test_own_token_does_not_help_another_origin_t14(world: World) -> None:
    client = browser("owner", world, enforce_csrf_checks=True)
    page = client.get("/arrivals/new/").content.decode()
    (token,) = set(re.findall(r'name="csrfmiddlewaretoken" value="(\w+)"', page))

    statuses = [
        client.post("/arrivals/new/", {"csrfmiddlewaretoken": token}, headers={"origin": origin}).status_code
        for origin in (ELSEWHERE, "http://testserver")
    ]

    assert statuses == [403, 422]


def test_lost_session_sends_htmx_to_the_sign_in_page(world: World) -> None:
    headers = {"hx-request": "true", "hx-current-url": "http://testserver/work-orders/?stage=here"}
    answers = {}
    for address in addresses():
        if is_public(address) or address.name in ASKED_BY_PROGRAMS:
            continue
        for method in ("get", "post"):
            response = getattr(Client(), method)(path_of(address, world), headers=headers)
            found = response.status_code, response.content, response.headers.get("HX-Redirect")
            answers[address.name, method] = found

    where = "/people/sign-in/?next=/work-orders/%3Fstage%3Dhere"
    assert answers == dict.fromkeys(answers, (204, b"", where))
    assert len(answers) >= 2


def test_head_is_answered_as_get_is(world: World) -> None:
    others = {}
    for address in share_of_today(addresses()):
        client, path = browser(role_for(address), world), path_of(address, world)
        with rolled_back():
            statuses = tuple(read(answer).status_code for answer in (client.get(path), client.head(path)))
        if statuses[0] != statuses[1]:
            others[address.name] = statuses

    assert others == {}


@pytest.mark.parametrize(
    ("current", "next_page"),
    [
        ("http://testserver/quotes/4/edit/", "/quotes/4/edit/"),
        ("http://testserver", "/"),
        ("", "/"),
        ("not an address", "/"),
        ("http://testserver//evil.example/", "/"),
        ("javascript:alert(1)", "/"),
        ("http://testserver/a b?c=d&e#f", "/a%20b%3Fc%3Dd%26e"),
        ("http://[bad", "/"),
    ],
)
def test_page_to_come_back_to_is_a_path(current: str, next_page: str) -> None:
    response = Client().get("/work-orders/", headers={"hx-request": "true", "hx-current-url": current})

    assert response.headers["HX-Redirect"] == f"/people/sign-in/?next={next_page}"
    assert (response.headers["Cache-Control"], response.headers["X-Robots-Tag"]) == ("no-store", "noindex")


def test_page_to_come_back_to_is_never_elsewhere(world: World) -> None:
    data = {"username": "ilse", "password": PASSWORD, "next": "//evil.example/"}

    response = Client().post("/people/sign-in/", data)

    assert response.headers["Location"] == "/"


_OF_ONE_ANSWER = re.compile(rb'nonce="[^"]*"|value="[\w-]{30,}"|"X-CSRFToken": "\w+"')


def lasting(response: HttpResponse) -> bytes:
    """The page without what is drawn anew for each answer, and without blank lines."""
    return b" ".join(_OF_ONE_ANSWER.sub(b"", response.content).split())


def parts_and_pages(world: World) -> Iterator[tuple[str, HttpResponse, HttpResponse, HttpResponse]]:
    """For each page: as anybody gets it, as htmx gets it, and as htmx gets it back from the history."""
    htmx = {"hx-request": "true"}
    restored = htmx | {"hx-history-restore-request": "true"}
    for address in share_of_today(addresses()):
        client, path = browser(role_for(address), world), path_of(address, world)
        with rolled_back():
            whole = read(client.get(path))
        if whole.status_code != 200 or not whole.headers["Content-Type"].startswith("text/html"):
            continue
        with rolled_back():
            yield address.name, whole, client.get(path, headers=htmx), client.get(path, headers=restored)


def test_history_gets_the_whole_page_back_and_parts_say_that_they_vary(world: World) -> None:
    found, silent = {}, []
    for name, whole, part, restored in parts_and_pages(world):
        found[name] = lasting(restored) == lasting(whole)
        varies = all("HX-Request" in answer.headers.get("Vary", "") for answer in (whole, part))
        if lasting(part) != lasting(whole) and not varies:
            silent.append(name)

    assert len(found) >= 3
    assert found == dict.fromkeys(found, True)
    assert silent == []


def test_refusal_is_logged_t01(world: World, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.INFO, logger="shopapp.access")
    logging.getLogger("shopapp").addHandler(caplog.handler)

    browser("technician", world).get(f"/work-orders/{world.others['work order']}/")

    logging.getLogger("shopapp").removeHandler(caplog.handler)
    lines = {record.getMessage() for record in caplog.records if record.name == "shopapp.access"}
    (tobiah,) = Person.objects.filter(username="tobiah")
    assert lines == {f"refused GET work_orders:detail with 404 for person:{tobiah.pk} from 127.0.0.1"}
