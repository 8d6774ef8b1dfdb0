"""The shop with two of everything, and every answer of the app: made once for all tests that look at them."""

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from django.test import override_settings
from django.utils import timezone
from pytest_django import DjangoDbBlocker

from shopapp.models import Job, Person
from tests.web.answers import Table, all_answers, rolled_back
from tests.web.planted import plant
from tests.web.world import World, found_world


@dataclass(frozen=True, kw_only=True)
class Everything:
    """What everybody is told everywhere, and the costs and wages that stand in the rows of that shop."""

    table: Table
    planted: tuple[int, ...]


@pytest.fixture(scope="session")
def everything(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker, tmp_path_factory: pytest.TempPathFactory
) -> Everything:
    """Asked once: where each question leads, and whether an answer holds an amount that nobody may see."""
    with django_db_blocker.unblock(), stores_in(tmp_path_factory.mktemp("stores")), rolled_back():
        world = found_world(timezone.now())
        planted = plant(Job.objects.get(pk=world.own["job"]), Person.objects.get(username="tobiah"))
        return Everything(table=all_answers(world), planted=planted)


@pytest.fixture(scope="session")
def table(everything: Everything) -> Table:
    return everything.table


@pytest.fixture(scope="session")
def planted(everything: Everything) -> tuple[int, ...]:
    return everything.planted


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
