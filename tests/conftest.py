"""What every test may use. Runs on SQLite, or on PostgreSQL when SHOPAPP_TEST_DB says so."""

import gc
import uuid
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
import pytest_django
from django.conf import settings
from django.core.management import call_command
from django.core.signals import setting_changed
from django.db import connection
from django.template.base import Template
from django.test import Client
from django.test.client import ClientHandler
from xdist.remote import Producer  # type: ignore[import-untyped]  # ships no types
from xdist.scheduler import LoadScopeScheduling  # type: ignore[import-untyped]

from shopapp.actions.actor import Actor, Scope
from shopapp.models import Person, Shop
from shopapp.triggers import remove_triggers
from tests.factories import PersonFactory, found_shop

# Django's test client copies every context of every part of a page for tests that look into them; ours read
# the answer itself, as a browser does
PLAIN_RENDER = Template._render
BUILD_MIDDLEWARE = ClientHandler.load_middleware
DOORS: list[Callable[..., object]] = []
# tests that share something dear: one worker makes it, once
TOGETHER = (
    ("tests/web/test_access_table.py", "tests/web/test_headers.py", "tests/web/test_planted_values.py"),
    ("tests/web/test_hardening.py",),
    ("tests/web/test_planted_secrets.py",),
    ("tests/management/test_demo_shop.py",),
)
STORES = {"PHOTO_DIR": "photos", "PAPER_DIR": "papers", "BACKUP_DIR": "backups"}
NOW = datetime(2026, 6, 2, 17, 30, tzinfo=UTC)


def pytest_configure() -> None:
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


def pytest_collection_finish() -> None:
    """The modules and thousands of tests that are there now stay to the end: nobody looks through them for
    garbage again and again, and what a test leaves can wait until it is much.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 100)


def _load_shared_middleware(handler: ClientHandler) -> None:
    """Each new browser of a test comes to the same doors: they are built anew only for other settings."""
    if not DOORS:
        BUILD_MIDDLEWARE(handler)
        DOORS.append(handler._middleware_chain)
    handler._middleware_chain = DOORS[0]


def _build_middleware_anew(*, setting: str, **_: object) -> None:
    """A middleware may have looked at this setting when it was built; at the stores none does."""
    if setting not in STORES:
        DOORS.clear()


class TestsTogether(LoadScopeScheduling):
    """Each test goes to whichever worker is free, but those of TOGETHER to the same one.

    Marks for the plugin's own groups are lost on the way: it writes them where this pytest no longer reads.
    """

    def _split_scope(self, nodeid: str) -> str:
        module = nodeid.partition("::")[0]
        return next((modules[0] for modules in TOGETHER if module in modules), nodeid)


def pytest_xdist_make_scheduler(config: pytest.Config, log: Producer) -> TestsTogether:
    return TestsTogether(config, log)


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    django_db_modify_db_settings_parallel_suffix: None, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """SQLite in a real file, as in the shop: threads and processes meet as they would there.

    The suffix is asked for because each worker of a parallel run needs a PostgreSQL database of its own.
    """
    if connection.vendor == "sqlite":
        connection.settings_dict["TEST"]["NAME"] = str(tmp_path_factory.mktemp("database") / "shop.sqlite3")
        # a worker asks questions of many more kinds over its one connection than the 128 that are kept by
        # default: each would be read and planned anew, with the triggers that hang on it
        connection.settings_dict["OPTIONS"]["cached_statements"] = 2_000


@pytest.fixture(scope="session", autouse=True)
def _pages_are_rendered_as_in_the_shop(django_test_environment: None) -> None:
    Template._render = PLAIN_RENDER


@pytest.fixture(scope="session", autouse=True)
def _middleware_is_shared(django_test_environment: None) -> Iterator[None]:
    setting_changed.connect(_build_middleware_anew)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(ClientHandler, "load_middleware", _load_shared_middleware)
        yield


@pytest.fixture(scope="session", autouse=True)
def _nobody_else_holds_the_database(
    django_db_setup: None, django_db_blocker: pytest_django.DjangoDbBlocker
) -> Iterator[None]:
    """PostgreSQL won't drop a database while a thread of a test's server still holds a connection to it."""
    yield
    if connection.vendor != "postgresql":
        return
    with django_db_blocker.unblock(), connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            " WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )


@pytest.fixture
def real_migrations(transactional_db: None, settings: object) -> None:
    """The migrations as a shop has them, told that they have made the tables of the tests."""
    settings.MIGRATION_MODULES = {}
    call_command("migrate", fake=True, verbosity=0)


@pytest.fixture(autouse=True)
def _own_stores(tmp_path: Path, settings: object) -> None:
    """Photos, papers and backups of a test lie in its own folder."""
    for name, folder in STORES.items():
        setattr(settings, name, tmp_path / folder)


@pytest.fixture(autouse=True)
def _triggers_let_the_flush_through(request: pytest.FixtureRequest) -> Iterator[None]:
    """A committed test is cleaned up by deleting rows, which the triggers refuse: take them off first.

    The flush puts them back itself, since it sends post_migrate.
    """
    is_committed = "transactional_db" in request.fixturenames or "live_server" in request.fixturenames
    marker = request.node.get_closest_marker("django_db")
    is_committed = is_committed or bool(marker and marker.kwargs.get("transaction"))
    if is_committed:
        request.getfixturevalue("transactional_db")
    yield
    if is_committed:
        remove_triggers(connection)


@pytest.fixture
def now() -> datetime:
    return NOW


@pytest.fixture
def shop(db: None) -> Shop:
    return found_shop()


@pytest.fixture
def ilse(shop: Shop) -> Person:
    """The front desk."""
    return PersonFactory(username="ilse", name="Ilse Brandt")


@pytest.fixture
def maren(shop: Shop) -> Person:
    """The owner."""
    return PersonFactory(username="maren", name="Maren Falk", is_owner=True)


@pytest.fixture
def tobiah(shop: Shop) -> Person:
    """A technician."""
    return PersonFactory(username="tobiah", name="Tobiah Reyes", is_technician=True)


@pytest.fixture
def wen(shop: Shop) -> Person:
    """Another technician."""
    return PersonFactory(username="wen", name="Wen Okafor", is_technician=True)


@pytest.fixture
def by() -> Callable[[Person], Actor]:
    """An actor for a person at the desk at the test's moment."""
    return lambda person: Actor(scope=Scope.DESK, person=person, at=NOW)


@pytest.fixture
def signed_in() -> Callable[[Person], Client]:
    """A browser in which a person is signed in."""

    def sign_in(person: Person) -> Client:
        client = Client()
        client.force_login(person)
        return client

    return sign_in


@pytest.fixture
def key() -> Callable[[], dict[str, str]]:
    """A fresh request key as the form would carry it."""
    return lambda: {"once_key": str(uuid.uuid4())}
