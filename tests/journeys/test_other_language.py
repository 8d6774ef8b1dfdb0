"""A language of longer words: on every page nothing is cut, nothing sticks out, nothing is said in English.

The everyday run opens a share of them in test_every_page; the soak run here opens all.
"""

from collections.abc import Callable

import pytest
from django.utils import timezone
from django.utils.translation import gettext, ngettext, pgettext

from tests.journeys import other_language
from tests.journeys.conftest import Watched
from tests.journeys.test_every_page import walk_in_longer_words
from tests.web.world import ROLES, found_world


@pytest.mark.soak
@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
def test_every_page_speaks_longer_words(open_browser: Callable[..., Watched], live_server: object) -> None:
    world = found_world(timezone.now())
    found: list[str] = []
    with other_language.spoken():
        for role in ROLES:
            found += walk_in_longer_words(open_browser, world, role, share=1)

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
