"""The shop with two of everything, and every answer of the app: made once for all tests that look at them."""

import shutil
from collections.abc import Iterator
from pathlib import Path

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
    with django_db_blocker.unblock(), stores_in(tmp_path_factory.mktemp("stores")), rolled_back():
        return all_answers(found_world(timezone.now()))


@pytest.fixture(scope="module")
def world_stores(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the photos and papers of the world lie."""
    return tmp_path_factory.mktemp("world")


@pytest.fixture(scope="module")
def module_world(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker, world_stores: Path
) -> Iterator[World]:
    """The rows of the world, in a transaction around those of the module's tests.

    Tests that found a shop of their own stand in other modules.
    """
    with django_db_blocker.unblock(), rolled_back():
        with stores_in(world_stores):
            world = found_world(timezone.now())
        with django_db_blocker.block():
            yield world


@pytest.fixture
def world(module_world: World, db: None, world_stores: Path, tmp_path: Path) -> World:
    """The same shop, for questions of a test's own: whatever it writes, the next test finds it new."""
    for store in world_stores.iterdir():
        shutil.copytree(store, tmp_path / store.name)
    return module_world


def stores_in(folder: Path) -> override_settings:
    """Photos and papers lie there for a while."""
    return override_settings(PHOTO_DIR=folder / "photos", PAPER_DIR=folder / "papers")
