"""The sheet of keys lists the keys that work, and nothing else; that they do: tests/journeys/test_keys.py."""

import re
from pathlib import Path

import pytest
from django.conf import settings

from shopapp.models import Person

pytestmark = pytest.mark.django_db

BASE = Path(settings.BASE_DIR)
SHEET = BASE / "templates/components/_keys.html"
# as a script asks for a key → as the sheet writes it
WRITTEN = {"ArrowDown": "↓", "ArrowUp": "↑", "Escape": "Esc", "KeyP": "P", "KeyC": "C", "/": "/", "?": "?"}


def asked_for() -> set[str]:
    """Every key that a script of the shop asks for."""
    scripts = "".join(script.read_text() for script in (BASE / "static/js").glob("*.js"))
    compared = re.findall(r"event\.(?:key|code) [!=]== \"([^\"]+)\"", scripts)
    listed = re.findall(r"{ (\"[^}]+) }\[event\.key\]", scripts)
    return {*compared, *re.findall(r"\"(.)\": ", "".join(listed))}


def test_sheet_lists_the_keys_that_the_scripts_ask_for() -> None:
    shown = set(re.findall(r"<kbd>([^<]+)</kbd>", SHEET.read_text()))

    assert {WRITTEN[key] for key in asked_for()} == shown - {"Alt"}


def test_keys_announced_to_a_reader_stand_in_the_sheet() -> None:
    pages = "".join(page.read_text() for page in (BASE / "templates").rglob("*.html"))
    announced = {key.rpartition("+")[2] for key in re.findall(r"aria-keyshortcuts=\"([^\"]+)\"", pages)}

    assert announced <= set(re.findall(r"<kbd>([^<]+)</kbd>", SHEET.read_text()))


def test_technician_is_shown_no_keys_of_the_desk(ilse: Person, tobiah: Person, signed_in: object) -> None:
    desk, bench = (signed_in(one).get("/work-orders/").content.decode() for one in (ilse, tobiah))

    assert ["<kbd>Alt</kbd> <kbd>P</kbd>" in page for page in (desk, bench)] == [True, False]
    assert "<kbd>?</kbd>" in bench
