"""Costs and wages are planted in every row that holds one, and every answer of every address is searched.

Invariant 10 of the shop's rules. The test grows by itself: a new address or a new column of costs is in it.
"""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from itertools import product

import pytest
from django.apps import apps
from django.db import connection
from django.db.models import Model
from django.utils import timezone
from pytest_django import DjangoDbBlocker

from shopapp.models import FluidEntry, Job, PartUsed, Person, TimeEntry, Wage
from shopapp.triggers import remove_triggers
from shopapp.web.shared.tablets import BENCH_PAGES
from tests.web.addresses import Address, addresses
from tests.web.answers import METHODS, Asked, ask
from tests.web.planted import PLANTED, found_in, words_of
from tests.web.world import World

pytestmark = pytest.mark.django_db

# what a thing or an hour costs the shop; what is asked for it is no secret of the desk
SECRETS = ("unit_cost_e4", "hourly_e4")


def secret_columns() -> Iterator[tuple[type[Model], str]]:
    """Every column of the shop that holds a cost or a wage."""
    for model in apps.get_app_config("shopapp").get_models():
        for field in model._meta.concrete_fields:
            if field.name in SECRETS:
                yield model, field.name


def log_more(job: Job, person: Person) -> None:
    """Enough rows of the actual book and wages that fifty amounts find a place."""
    shared = {"job": job, "logged_by": person, "happened_at": timezone.now(), "recorded_at": timezone.now()}
    for place in range(8):
        PartUsed.objects.create(description=f"Part {place}", quantity_milli=1_000, **shared)
        TimeEntry.objects.create(person=person, minutes=30 + place, **shared)
        FluidEntry.objects.create(point="gearcase", product="Oil", filled_ml=700, **shared)
        day = date(2026, 1, 1) + timedelta(days=place)
        Wage.objects.create(person=person, from_date=day, hourly_e4=0)


@pytest.fixture(scope="module")
def planted(module_world: World, django_db_blocker: DjangoDbBlocker) -> list[int]:
    """The amounts, each in a row of its own; frozen rows are written past the guards."""
    with django_db_blocker.unblock():
        log_more(Job.objects.get(pk=module_world.own["job"]), Person.objects.get(username="tobiah"))
        remove_triggers(connection)
        return plant()


def plant() -> list[int]:
    """Every amount that found a row."""
    left = iter(PLANTED)
    used = []
    for model, column in secret_columns():
        for row in model._default_manager.order_by("-pk"):
            if (amount := next(left, None)) is None:
                break
            model._default_manager.filter(pk=row.pk).update(**{column: amount})
            used.append(amount)
    return used


def found_by(role: str, world: World, *, among: Sequence[Address]) -> dict[tuple[str, str, str], list[str]]:
    """Where somebody in this role finds a planted amount: address, record and method → the words."""
    found = {}
    for address, record, method in product(among, ("own", "other's"), METHODS):
        asked = Asked(address=address, record=record, role=role, method=method)
        told = ask(asked, world)
        words = found_in(words_of(told.body) + str(told.headers))
        if words:
            found[address.name, record, method] = words
    return found


def test_fifty_amounts_find_a_place(planted: list[int]) -> None:
    assert len(planted) >= 50


@pytest.mark.parametrize("role", ["front desk", "technician", "customer link"])
def test_nobody_but_the_owner_finds_a_cost_or_a_wage(role: str, world: World, planted: list[int]) -> None:
    assert found_by(role, world, among=addresses()) == {}


def test_owner_by_pin_finds_none_where_a_pin_leads(world: World, planted: list[int]) -> None:
    among = [address for address in addresses() if address.name in BENCH_PAGES]

    assert found_by("owner by PIN", world, among=among) == {}


def test_owner_finds_some_so_the_search_can_find(world: World, planted: list[int]) -> None:
    told = {"work_orders:detail", "work_orders:bench", "quotes:edit_line"}
    among = [address for address in addresses() if address.name in told]

    where = {name for name, _record, _method in found_by("owner", world, among=among)}

    assert where == told
