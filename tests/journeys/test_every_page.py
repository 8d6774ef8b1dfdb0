"""Every page of every role in a real browser: read by axe, nothing sideways, nothing too small for a thumb.

The everyday run opens a share of the pages, each at one width; all widths and roles occur in it. By hand all
of them at every width: SHOPAPP_ALL_VALUES=1 python -m pytest tests/journeys/test_every_page.py
"""

import os
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import pytest
from django.template.loader import render_to_string
from django.test import Client
from django.utils import timezone

from shopapp.web.shared import customer_door
from tests.journeys import measured, other_language
from tests.journeys.conftest import Watched
from tests.web.addresses import Address, addresses
from tests.web.world import ROLES, World, found_world

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# a phone, a tablet both ways, and the desk, which alone has a mouse
WIDTHS = {360: 800, 768: 1024, 1024: 768, 1280: 900}
DESK = 1280
# they lead on to a page: to the quote, which has an address of its own here, and to the terms of an arrival
DOORS = ("approvals:enter", "approvals:enter_intake")
WENT_WRONG = ("400", "403", "403_csrf", "404", "405", "413", "500", "not_stored")
# one page in so many opens in the everyday run, and of those in longer words at one of two widths
SHARE, LONGER_SHARE = 24, 40
LONGER_AT = (360, DESK)


@dataclass(frozen=True, kw_only=True)
class Opened:
    """A page by the name of its address and who opens it at which width."""

    name: str
    role: str
    path: str
    width: int


def pages(
    role: str, world: World, *, is_wanted: Callable[[str, str], bool] | None = None
) -> Iterator[tuple[Address, str]]:
    """Every address that answers this role with a whole page, about a record of the role's own."""
    client = Client()
    client.cookies.load(world.cookies[role])
    for address in addresses():
        if not (is_wanted or is_today)(role, address.name):
            continue
        path = address.path(world.own.get(address.kind, ""))
        # an answer that leads elsewhere may change who is behind the cookies
        if address.name in DOORS:
            continue
        answer = client.get(path)
        # read to its end whatever it is: a file that is handed out in pieces is closed after the last
        begins = answer.getvalue()[:100]
        is_html = answer.status_code == 200 and answer.headers["Content-Type"].startswith("text/html")
        if is_html and b"<!doctype html>" in begins:
            yield address, path
    if role == "customer link":
        # last, because the door to the terms is shut behind the one to the quote
        yield from ((one, one.path(world.own[one.kind])) for one in addresses() if one.name == DOORS[1])


def is_today(role: str, name: str) -> bool:
    """A share of the pages, and always the customer's own, which are few."""
    is_customers = role == "customer link" and name.startswith("approvals:")
    return bool(os.environ.get("SHOPAPP_ALL_VALUES")) or is_customers or lot(role, name) % SHARE == 0


def widths(role: str, name: str) -> list[int]:
    """All of them, or the page's own in the everyday run."""
    if os.environ.get("SHOPAPP_ALL_VALUES"):
        return list(WIDTHS)
    return [list(WIDTHS)[lot(role, name) // SHARE % len(WIDTHS)]]


def lot(role: str, name: str) -> int:
    return zlib.crc32(f"{role} {name}".encode())


def wanted(role: str, world: World) -> list[Opened]:
    return [
        Opened(name=address.name, role=role, path=path, width=width)
        for address, path in pages(role, world)
        for width in widths(role, address.name)
    ]


def troubles(window: Watched, opened: Opened) -> list[str]:
    """Everything that is wrong with a page at a width."""
    page = window.page
    page.goto(opened.path)
    found = measured.shift(page) + measured.heavy(page)
    measured.unfold(page)
    found += measured.sticking_out(page) + measured.cut_off(page)
    measured.enlarge_text(page, 2)
    found += [f"at 200 %: {one}" for one in measured.sticking_out(page)]
    measured.enlarge_text(page, 1)
    if opened.width != DESK:
        found += measured.too_small(page)
    window.read_by_axe()
    found += window.take_troubles()
    return [f"{opened.name} for {opened.role} at {opened.width}: {one}" for one in found]


def let_in(window: Watched, world: World, role: str) -> None:
    """The browser of somebody in this role."""
    for name, value in world.cookies[role].items():
        # where the shop itself puts it: a second one beside it would hide the next door
        path = customer_door.PATH if name == customer_door.COOKIE else "/"
        cookie = {"name": name, "value": value, "domain": "localhost", "path": path}
        window.page.context.add_cookies([cookie])


def walk(open_browser: Callable[..., Watched], world: World, role: str) -> list[str]:
    """What is wrong with the pages of a role, window by window."""
    found: list[str] = []
    todo = wanted(role, world)
    for width, height in WIDTHS.items():
        here = [one for one in todo if one.width == width]
        if not here:
            continue
        window = open_browser(width, height, has_touch=width != DESK, is_mobile=width != DESK)
        let_in(window, world, role)
        for one in here:
            found += troubles(window, one)
    return found


def longer_troubles(window: Watched, path: str, own: set[str]) -> list[str]:
    """What is wrong with a page in a language of longer words."""
    page = window.page
    page.goto(path)
    measured.unfold(page)
    found = measured.sticking_out(page) + measured.cut_off(page) + other_language.forgotten(page, own)
    return [f"{path} in longer words at {page.viewport_size['width']}: {one}" for one in found]


def walk_in_longer_words(
    open_browser: Callable[..., Watched], world: World, role: str, *, share: int
) -> list[str]:
    """The same for one page in ``share``, of a phone and a desk."""
    own, found = other_language.own_words(), []
    for place, width in enumerate(LONGER_AT):

        def is_drawn(role: str, name: str, place: int = place) -> bool:
            return share == 1 or lot(role, name) % (share * len(LONGER_AT)) == place

        here = [path for _, path in pages(role, world, is_wanted=is_drawn)]
        if not here:
            continue
        window = open_browser(width, WIDTHS[width], has_touch=width != DESK, is_mobile=width != DESK)
        let_in(window, world, role)
        found += [trouble for path in here for trouble in longer_troubles(window, path, own)]
    return found


@pytest.fixture
def world(live_server: object) -> World:
    return found_world(timezone.now())


def test_every_page_is_fit_to_use(open_browser: Callable[..., Watched], world: World) -> None:
    found = [trouble for role in ROLES for trouble in walk(open_browser, world, role)]
    with other_language.spoken():
        for role in ROLES:
            found += walk_in_longer_words(open_browser, world, role, share=LONGER_SHARE)

    assert not found, "\n".join(dict.fromkeys(found))


def test_share_of_a_day_has_every_width() -> None:
    """Otherwise a width that nobody looks at could break without a word."""
    named = [(role, address.name) for role in ROLES for address in addresses()]

    assert {width for one in named if is_today(*one) for width in widths(*one)} == set(WIDTHS)


def test_pages_of_what_went_wrong_fit_a_phone(open_browser: Callable[..., Watched]) -> None:
    window = open_browser(360, 800, has_touch=True, is_mobile=True)
    found: list[str] = []
    for name in WENT_WRONG:
        words = render_to_string(f"{name}.html", {"reference": "7KQM-4F2X"})
        window.page.route(f"**/{name}/", lambda route, _request, words=words: route.fulfill(body=words))
        one = Opened(name=name, role="nobody", path=f"/{name}/", width=360)
        found += troubles(window, one)

    assert not found, "\n".join(found)
