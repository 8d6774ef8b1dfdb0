"""Every answer of the app, asked once for all tests that look at answers."""

import pytest
from django.test import override_settings
from django.utils import timezone
from pytest_django import DjangoDbBlocker

from tests.web.answers import Table, all_answers, rolled_back
from tests.web.world import World, found_world


@pytest.fixture(scope="session")
def table(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker, tmp_path_factory: pytest.TempPathFactory
) -> Table:
    """What everybody is told everywhere."""
    folder = tmp_path_factory.mktemp("stores")
    stores = override_settings(PHOTO_DIR=folder / "photos", PAPER_DIR=folder / "papers")
    with django_db_blocker.unblock(), stores, rolled_back():
        return all_answers(found_world(timezone.now()))


@pytest.fixture
def world(db: None) -> World:
    """The same shop, for questions of a test's own."""
    return found_world(timezone.now())
