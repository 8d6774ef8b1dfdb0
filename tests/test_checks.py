"""What ``manage.py check`` says of the journal, the guards and the content security policy."""

from pathlib import Path

import pytest
from django.core.checks import Tags, run_checks
from django.db import connection

from shopapp.checks import (
    doors_are_guarded,
    journal_is_known,
    journal_message,
    owners_second_step_is_asked_for,
    passwords_are_hashed_slowly,
    policy_is_not_empty,
)
from tests.processes import manage
from tests.test_settings import PRODUCTION

UNSAFE = "keeps a write-ahead log but lacks the fix for its reset bug: data may be lost."


@pytest.mark.parametrize(
    ("mode", "version", "told"),
    [
        (
            "WAL",
            (3, 51, 3),
            (
                "shopapp.I001",
                "SQLite 3.51.3, journal mode WAL: this version has the fix for the WAL-reset bug.",
            ),
        ),
        ("DELETE", (3, 46, 1), ("shopapp.I001", "SQLite 3.46.1, journal mode DELETE: chosen for safety.")),
        ("DELETE", (3, 51, 3), ("shopapp.I001", "SQLite 3.51.3, journal mode DELETE: chosen for safety.")),
        (
            "WAL",
            (3, 46, 1),
            (
                "shopapp.E001",
                f"SQLite 3.46.1 {UNSAFE}",
            ),
        ),
        (
            "WAL",
            (3, 51, 2),
            (
                "shopapp.E001",
                f"SQLite 3.51.2 {UNSAFE}",
            ),
        ),
    ],
)
def test_journal_is_told_with_its_reason(
    mode: str, version: tuple[int, int, int], told: tuple[str, str]
) -> None:
    message = journal_message(mode=mode, version=version)

    assert (message.id, message.msg) == told


@pytest.mark.django_db
def test_journal_of_the_open_database_is_told() -> None:
    messages = journal_is_known(databases=["default"])

    expected = {"sqlite": ["shopapp.I001"], "postgresql": []}
    assert [message.id for message in messages] == expected[connection.vendor]
    assert journal_is_known(databases=None) == []


@pytest.mark.parametrize(
    ("policy", "ids"),
    [
        ({}, ["shopapp.E002"]),
        ({"default-src": ["'none'"]}, ["shopapp.E002"]),
        ({"script-src": ["'self'"]}, []),
        ({"script-src": ["'self'", "'unsafe-inline'"]}, ["shopapp.E003"]),
        ({"script-src": ["'self'"], "style-src": ["'unsafe-inline'"]}, ["shopapp.E003"]),
        ({"script-src": ["'self'", "'unsafe-eval'"]}, ["shopapp.E003"]),
        ({"script-src": ["*"]}, ["shopapp.E003"]),
        ({"script-src": ["'self'", "https:"]}, ["shopapp.E003"]),
        ({"script-src": ["'self'", "data:"]}, ["shopapp.E003"]),
        ({"script-src": ["'self'"], "img-src": ["'self'", "data:"]}, []),
    ],
)
def test_policy_that_guards_nothing_is_an_error(
    settings: object, policy: dict[str, list[str]], ids: list[str]
) -> None:
    settings.SECURE_CSP = policy

    found = policy_is_not_empty()

    assert [message.id for message in found] == ids


def test_missing_policy_is_an_error(settings: object) -> None:
    del settings.SECURE_CSP

    assert [message.id for message in policy_is_not_empty()] == ["shopapp.E002"]


def test_own_policy_passes() -> None:
    assert policy_is_not_empty() == []


@pytest.mark.parametrize(
    ("name", "value", "ids"),
    [
        ("SESSION_ENGINE", "django.contrib.sessions.backends.signed_cookies", ["shopapp.E004"]),
        ("SESSION_IDLE_SECONDS", 0, ["shopapp.E005"]),
        ("SESSION_IDLE_SECONDS", 15 * 3600, ["shopapp.E005"]),
        ("SESSION_COOKIE_AGE", 14 * 24 * 3600, ["shopapp.E005"]),
        ("AUTH_PASSWORD_VALIDATORS", [], ["shopapp.E006"]),
    ],
)
def test_open_door_is_an_error(settings: object, name: str, value: object, ids: list[str]) -> None:
    before = doors_are_guarded()
    setattr(settings, name, value)

    assert (before, [message.id for message in doors_are_guarded()]) == ([], ids)


def test_fast_hash_is_an_error_where_people_work(settings: object) -> None:
    # the tests themselves hash fast
    fast = [message.id for message in passwords_are_hashed_slowly()]
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.PBKDF2PasswordHasher"]

    assert (fast, passwords_are_hashed_slowly()) == (["shopapp.E007"], [])


@pytest.mark.parametrize(
    ("https", "asked", "ids"), [(True, True, []), (True, False, ["shopapp.W002"]), (False, False, [])]
)
def test_owner_without_a_second_step_is_warned_of(
    settings: object, https: bool, asked: bool, ids: list[str]
) -> None:
    settings.HTTPS, settings.OWNER_SECOND_STEP = https, asked

    assert [message.id for message in owners_second_step_is_asked_for()] == ids


@pytest.mark.django_db
def test_checks_are_registered_under_their_tags() -> None:
    found = run_checks(tags=[Tags.database, Tags.security], databases=["default"])

    expected = {"sqlite": ["shopapp.I001"], "postgresql": []}
    assert [message.id for message in found if message.id.startswith("shopapp")] == expected[
        connection.vendor
    ]


@pytest.mark.parametrize("words", [("check",), ("check", "--deploy"), ("check", "--database", "default")])
def test_production_behind_https_is_clean(tmp_path: Path, words: tuple[str, ...]) -> None:
    own = {"DATABASE_URL": f"sqlite:///{tmp_path}/shop.sqlite3", "SHOPAPP_HTTPS": "1"}

    run = manage(*words, "--fail-level", "WARNING", **PRODUCTION, **own)

    told = [line for line in run.stderr.splitlines() if line.endswith(":") or "issues" in line]
    expected = ["System check identified some issues:", "INFOS:"] if len(words) > 2 else []
    assert (run.returncode, told) == (0, expected), run.stderr
