"""Whoever was erased stays so: tombstones travel with backups and lie beside them; a restore applies them."""

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings

from shopapp.actions.activity import first_bad_link
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.erasing import erase_customer, finish_erasures
from shopapp.files import restoring
from shopapp.files.backup_archives import contents_of
from shopapp.files.restoring import restore
from shopapp.files.tombstones import NAME, add_lines, lines_of, tombstone_file, unfinished, write_tombstone
from shopapp.models import Customer, Invoice, Person
from shopapp.queries.broken_sums import first_broken_sum
from tests.factories import CustomerFactory
from tests.factories.persons import MARKED, answered_visit, billed, somebody
from tests.files.shops import MADE_AT, backed_up, empty_the_place

pytestmark = pytest.mark.django_db

COMMITTED = pytest.mark.usefixtures("transactional_db", "real_migrations")
LINE = json.dumps({"day": "2026-06-02", "seal": "a" * 64})


@pytest.fixture
def owner(maren: Person, by: Callable[[Person], Actor]) -> Actor:
    return by(maren)


@pytest.fixture
def older_backup(ilse: Person, owner: Actor) -> tuple[Path, Customer]:
    """A backup that still knows somebody who was erased since; all of it is by the real actions."""
    visit = billed(answered_visit(ilse, at=owner.at).revision.quote.work_order, by=owner)
    customer = visit.customer
    path = backed_up().path
    erase_customer(customer.pk, by=owner)
    return path, customer


@pytest.mark.soak
@COMMITTED
def test_older_backup_brings_nobody_back_t36(older_backup: tuple[Path, Customer]) -> None:
    """By the real restore: unpacked, erased in the copy, verified, and only then moved in."""
    path, customer = older_backup
    bills = list(Invoice.objects.values("number", "total_minor", "shown_sha256"))
    empty_the_place()

    restore(path)

    back = Customer.objects.get(pk=customer.pk)
    assert (back.name, back.phone) == (f"Erased customer {customer.pk}", "")
    assert list(Invoice.objects.values("number", "total_minor", "shown_sha256")) == bills
    assert (first_bad_link(), first_broken_sum(), unfinished()) == (None, None, ())


@COMMITTED
def test_older_backup_is_known_to_hold_somebody_erased_t36(
    older_backup: tuple[Path, Customer], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the restore runs on the copy, run here on what came back: it finds them and erases them."""
    path, customer = older_backup
    empty_the_place()
    monkeypatch.setattr(restoring, "_verify", lambda *_args, **_named: None)
    restore(path)
    assert unfinished() == (customer.pk,)

    assert finish_erasures(by=Actor(scope=Scope.SYSTEM, at=MADE_AT)) == 1

    assert Customer.objects.get(pk=customer.pk).phone == ""
    assert (first_bad_link(), first_broken_sum(), unfinished()) == (None, None, ())


@COMMITTED
@pytest.mark.parametrize("where", ["in this place", "beside the backup", "in the backup"])
def test_tombstones_are_found_wherever_they_lie(
    owner: Actor, monkeypatch: pytest.MonkeyPatch, where: str
) -> None:
    customer = CustomerFactory.create()
    first = backed_up().path
    erase_customer(customer.pk, by=owner)
    lines = lines_of(tombstone_file())
    second = backed_up(at=MADE_AT.replace(hour=5)).path
    empty_the_place()
    if where != "in this place":
        tombstone_file().unlink()
    if where != "beside the backup":
        (settings.BACKUP_DIR / NAME).unlink()
    found: list[str] = []
    monkeypatch.setattr(restoring, "_verify", lambda *_, beside, **__: found.extend(lines_of(beside / NAME)))

    restore(second if where == "in the backup" else first)

    assert (found, lines_of(tombstone_file())) == (lines, lines)


@COMMITTED
def test_backup_carries_them_and_lays_them_beside(older_backup: tuple[Path, Customer]) -> None:
    second = backed_up(at=MADE_AT.replace(hour=5)).path

    assert NAME in contents_of(second).files
    assert NAME not in contents_of(older_backup[0]).files
    assert lines_of(settings.BACKUP_DIR / NAME) == lines_of(tombstone_file())


def test_line_tells_nothing_without_the_key(settings: Any) -> None:
    customer = CustomerFactory.create(name=MARKED)
    write_tombstone(customer.pk, day=date(2026, 6, 2))
    [line] = lines_of(tombstone_file())
    assert (json.loads(line)["day"], MARKED in line, unfinished()) == ("2026-06-02", False, (customer.pk,))

    settings.CHAIN_KEY = "another shop's key"

    assert unfinished() == ()


@pytest.mark.parametrize("torn", ['{"day": "2026-06-02", "se', "\x00\x00", "[1]", '{"seal": "short"}'])
def test_torn_line_spoils_no_other(torn: str) -> None:
    tombstone_file().parent.mkdir(parents=True, exist_ok=True)
    tombstone_file().write_text(f"{LINE}\n{torn}", encoding="utf-8")
    customer = CustomerFactory.create()

    write_tombstone(customer.pk, day=date(2026, 6, 2))
    write_tombstone(customer.pk, day=date(2026, 6, 2))

    assert len(lines_of(tombstone_file())) == 2
    assert unfinished() == (customer.pk,)


def test_lines_are_on_the_disk_when_it_returns(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    synced: list[object] = []
    monkeypatch.setattr("shopapp.files.tombstones.os.fsync", synced.append)
    monkeypatch.setattr("shopapp.files.tombstones.sync", synced.append)

    add_lines(tmp_path / NAME, [LINE])

    assert synced[1:] == [tmp_path]


def test_unplugged_folder_of_backups_stops_nobody(settings: Any, tmp_path: Path) -> None:
    customer = CustomerFactory.create()
    (tmp_path / "file").write_text("")
    settings.BACKUP_DIR = tmp_path / "file" / "folder"

    write_tombstone(customer.pk, day=date(2026, 6, 2))

    assert unfinished() == (customer.pk,)


def test_open_visit_of_an_older_backup_is_erased_all_the_same(owner: Actor) -> None:
    """It was decided once; what was open when the backup was made does not bring the person back."""
    customer = somebody(by=owner, is_billed=True)
    customer.work_orders.update(stage="ready")
    write_tombstone(customer.pk, day=date(2026, 6, 2))

    assert finish_erasures(by=Actor(scope=Scope.SYSTEM, at=owner.at)) == 1
    assert Customer.objects.get(pk=customer.pk).phone == ""
