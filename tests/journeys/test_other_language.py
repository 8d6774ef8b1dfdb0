"""Every page of every role in a language of longer words: nothing cut, nothing sideways, nothing in English.

The everyday run opens a share, the soak run all of them.
"""

from collections.abc import Callable

import pytest
from django.utils import timezone
from django.utils.translation import gettext, ngettext, pgettext

from tests.journeys import measured, other_language
from tests.journeys.conftest import Watched
from tests.journeys.test_every_page import let_in, lot, pages
from tests.web.world import ROLES, World, found_world

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

WIDTHS = {360: 800, 1280: 900}
# one page in so many opens in the everyday run, at one of the two widths
SHARE = 40


@pytest.fixture
def world(live_server: object) -> World:
    return found_world(timezone.now())


def troubles(window: Watched, path: str, own: set[str]) -> list[str]:
    page = window.page
    page.goto(path)
    measured.unfold(page)
    found = measured.sticking_out(page) + measured.cut_off(page) + other_language.forgotten(page, own)
    return [f"{path} at {page.viewport_size['width']}: {one}" for one in found]


def walk(open_browser: Callable[..., Watched], world: World, role: str, *, share: int) -> list[str]:
    own = other_language.own_words()
    found: list[str] = []
    for place, (width, height) in enumerate(WIDTHS.items()):

        def is_wanted(role: str, name: str, place: int = place) -> bool:
            return share == 1 or lot(role, name) % (share * len(WIDTHS)) == place

        here = [path for _, path in pages(role, world, is_wanted=is_wanted)]
        if not here:
            continue
        window = open_browser(width, height, has_touch=width == 360, is_mobile=width == 360)
        let_in(window, world, role)
        found += [trouble for path in here for trouble in troubles(window, path, own)]
    return found


@pytest.mark.parametrize("share", [SHARE, pytest.param(1, marks=pytest.mark.soak)])
def test_every_page_speaks_another_language(
    open_browser: Callable[..., Watched], world: World, share: int
) -> None:
    with other_language.spoken():
        found = [trouble for role in ROLES for trouble in walk(open_browser, world, role, share=share)]

    assert not found, "\n".join(dict.fromkeys(found))


def test_language_is_longer_and_keeps_what_is_filled_in() -> None:
    with other_language.spoken():
        said = [
            gettext("Save"),
            gettext("Rate of %(name)s") % {"name": "Wen"},
            pgettext("page 1 of 3", "of"),
            ngettext("%(days)s day", "%(days)s days", 2) % {"days": 2},
        ]

    assert said == ["⟦Sáávéé⟧", "⟦Ráátéé óóf Wen⟧", "⟦óóf⟧", "⟦2 dááys⟧"]
    assert gettext("Save") == "Save"
