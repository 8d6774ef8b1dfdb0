"""SECURITY.md says what the code does: its headings are there, and its numbers are those of the code."""

import re

import pytest
from django.conf import settings

from shopapp.actions import passwords
from shopapp.documents import renderer
from shopapp.models import KEY_HOURS, devices
from shopapp.queries import misses
from shopapp.web.people import half_in
from tests.house.tree import REPOSITORY

HEADINGS = [
    "Ways in",
    "Against guessing",
    "Sessions",
    "Who may do and see what",
    "What is accepted",
    "Files",
    "Classes of data",
    "Keys",
    "Connections to elsewhere",
    "What takes long",
    "Logs",
    "Updates",
]


def sections() -> dict[str, str]:
    """The page by its headings, each with its text on one line."""
    parts = re.split(
        r"^## (.+)$", (REPOSITORY / "SECURITY.md").read_text(encoding="utf-8"), flags=re.MULTILINE
    )
    return {name: " ".join(text.split()) for name, text in zip(parts[1::2], parts[2::2], strict=True)}


def test_page_has_its_headings_in_order() -> None:
    assert [name for name, text in sections().items() if len(text) > 80] == HEADINGS


@pytest.mark.parametrize(
    ("heading", "said"),
    [
        ("Ways in", f"counts for {KEY_HOURS} hours"),
        ("Against guessing", f"{passwords.SHORTEST} signs or more, {passwords.ADVISED} are advised"),
        ("Against guessing", f"{passwords.LONGEST} are the most"),
        ("Against guessing", f"lasts {passwords.FIRST_LASTS.total_seconds() / 3600:.0f} hours"),
        ("Against guessing", f"{devices.MOST_PIN_MISSES} wrong PINs"),
        ("Against guessing", f"that has {devices.MOST_PASSWORD_MISSES} tries too"),
        ("Against guessing", f"{misses.MOST_MISSES} links"),
        ("Against guessing", f"within {misses.WITHIN.total_seconds() / 60:.0f} minutes from one place"),
        ("Against guessing", f"waits {half_in.LASTS.total_seconds() / 60:.0f} minutes"),
        ("Sessions", f"after {settings.SESSION_IDLE_SECONDS // 60} minutes without a request"),
        ("Sessions", f"after {settings.SESSION_COOKIE_AGE // 3600} hours in any case"),
        ("Sessions", f"after {devices.LEAST_LOCK_MINUTES} to {devices.MOST_LOCK_MINUTES} minutes"),
        ("Files", f"at most {settings.PHOTO_MAX_BYTES // 1_000_000} MB"),
        ("Files", f"{settings.PHOTO_MAX_PIXELS // 1_000_000} million pixels"),
        ("Files", f"({settings.PHOTO_MAX_PIXELS_WHOLE // 1_000_000} million where"),
        ("Files", f"at most {settings.DATA_UPLOAD_MAX_MEMORY_SIZE // 1_000_000} MB"),
        ("Files", f"and {settings.DATA_UPLOAD_MAX_NUMBER_FIELDS} fields"),
        ("What takes long", f"within {renderer.LIMIT_S:.0f} seconds"),
    ],
)
def test_number_on_the_page_is_that_of_the_code(heading: str, said: str) -> None:
    assert said in sections()[heading]


def test_page_names_files_that_are_there() -> None:
    text = (REPOSITORY / "SECURITY.md").read_text(encoding="utf-8")

    named = set(re.findall(r"`((?:shopapp|tests)/[\w/.]+|requirements\.lock)`", text))

    assert len(named) >= 5
    assert [name for name in sorted(named) if not (REPOSITORY / name).exists()] == []
