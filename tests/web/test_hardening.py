"""What strangers and odd browsers try at every address: other methods, other origins."""

import re
import shutil
from collections import Counter
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client
from pytest_django import DjangoDbBlocker

from tests.web.addresses import addresses
from tests.web.answers import Asked, Told, browser, key_of, rolled_back, told
from tests.web.conftest import stores_in
from tests.web.shared.hostile import row_counts
from tests.web.world import World

pytestmark = pytest.mark.django_db

METHODS = ("PUT", "DELETE", "OPTIONS", "TRACE", "PROPFIND", "")
# what a sign-in or a refusal comes before
SHUT = (302, 400, 401, 403, 404, 405)


def paths(world: World, role: str = "owner") -> dict[str, str]:
    """Address by name → path to the own record."""
    asked = [Asked(address=one, record="own", role=role, method="GET") for one in addresses()]
    return {one.address.name: one.address.path(key_of(one, world)) for one in asked}


@pytest.fixture(scope="module")
def answers(
    module_world: World,
    world_stores: Path,
    django_db_blocker: DjangoDbBlocker,
    tmp_path_factory: pytest.TempPathFactory,
) -> list[Told]:
    """What each address answers to whoever may look at it."""
    found = []
    stores = shutil.copytree(world_stores, tmp_path_factory.mktemp("asked") / "stores")
    with django_db_blocker.unblock(), stores_in(stores):
        for name, path in paths(module_world).items():
            client = browser("customer link" if name.startswith("approvals:") else "owner", module_world)
            with rolled_back():
                found.append(told(client.get(path, headers={"origin": "https://evil.example"}), path))
    return found


def test_no_address_takes_other_methods(world: World) -> None:
    """TRACE would send cookies back to whoever asks; the rest is used by nobody here."""
    before, odd = row_counts(), {}

    for place, (name, path) in enumerate(paths(world).items()):
        # TRACE at every second address, of the others another one at each
        method = "TRACE" if place % 2 else METHODS[place // 2 % len(METHODS)]
        client = browser("customer link" if name.startswith("approvals:") else "owner", world)
        with rolled_back():
            answer = client.generic(method, path, headers={"x-secret": "kelp"})
        if answer.status_code not in SHUT or b"kelp" in answer.getvalue():
            odd[name, method] = answer.status_code

    assert odd == {}
    assert row_counts() == before


def test_looking_changes_nothing_t03(world: World) -> None:
    before, others = row_counts(), {}

    for name, path in paths(world).items():
        browser("customer link" if name.startswith("approvals:") else "owner", world).get(path).getvalue()
        # a paper is made when it is first asked for, and kept
        now = row_counts() | {"StoredPaper": before["StoredPaper"]}
        if now != before:
            others[name], before = Counter(now) - Counter(before), now

    assert others == {}


def test_answers_say_what_they_are_and_in_which_letters(answers: list[Told]) -> None:
    """Bytes of papers and photos have no letters; an answer without a body is nothing to read."""
    kinds = Counter(one.headers.get("Content-Type", "") for one in answers if one.body)

    # JSON has one alphabet only, and by its standard says nothing of it
    assert set(kinds) - {"application/pdf", "application/zip", "image/webp", "application/json"} == {
        kind for kind in kinds if re.fullmatch(r"(text|application)/[\w.+-]+; ?charset=utf-8", kind)
    }
    assert kinds["text/html; charset=utf-8"] > 50


def test_nothing_is_shared_with_other_origins(answers: list[Told]) -> None:
    elsewhere = {"origin": "https://evil.example", "access-control-request-method": "POST"}

    asked = Client().options("/people/sign-in/", headers=elsewhere)

    named = [name for answer in (*answers, asked) for name in answer.headers]
    assert [name for name in named if name.startswith("Access-Control")] == []


def test_papers_are_shown_under_a_name_of_the_shops_own(answers: list[Told]) -> None:
    """No name that somebody sent: letters, digits and dashes, so nothing in it needs to be encoded."""
    said = {
        one.headers.get("Content-Disposition", "")
        for one in answers
        if one.headers.get("Content-Type", "").partition(";")[0] in ("application/pdf", "text/csv")
    }

    assert len(said) >= 5
    wrong = [
        one for one in said if not re.fullmatch(r'(inline|attachment); filename="[\w.-]+\.(pdf|csv)"', one)
    ]
    assert wrong == []


def test_what_proxies_say_is_not_believed_unasked() -> None:
    """A stranger may write these headers: neither host, port nor https is read from them."""
    spoofed = {"x-forwarded-host": "evil.example", "x-forwarded-proto": "https", "x-forwarded-port": "1"}

    answer = Client().get("/work-orders/", headers=spoofed)

    assert answer.headers["Location"] == "/people/sign-in/?next=/work-orders/"
    assert (settings.USE_X_FORWARDED_HOST, settings.USE_X_FORWARDED_PORT) == (False, False)


def test_health_says_nothing_of_the_inside(client: Client) -> None:
    answer = client.get("/health/")

    assert len(answer.content) < 40
    assert not re.search(rb"\d+\.\d+|python|django|sqlite|postgres", answer.content, re.IGNORECASE)
    assert {"Server", "X-Powered-By"} & set(answer.headers) == set()
