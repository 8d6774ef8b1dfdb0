"""What the worker does after the answer was sent."""

import os
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.conf import settings
from django.core.management import call_command
from django.tasks import TaskResultStatus
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from shopapp.actions.actor import Actor
from shopapp.models import Person, StoredPaper
from shopapp.queries.backups import backups_in
from shopapp.tasks import back_up_nightly, make_invoice_paper, next_night, plan_backups, sweep_leftovers
from tests.factories.invoices import issued


@pytest.mark.django_db(transaction=True)
def test_worker_has_the_paper_ready(ilse: Person, by: Callable[[Person], Actor]) -> None:
    invoice = issued(by=by(ilse))
    result = make_invoice_paper.enqueue(invoice.pk)

    call_command("db_worker", batch=True, verbosity=0)

    result.refresh()
    assert result.status == TaskResultStatus.SUCCESSFUL
    assert StoredPaper.objects.get().content_sha256 == invoice.shown_sha256


def planned() -> list[datetime | None]:
    """When the backups that are planned will be made."""
    ready = DBTaskResult.objects.filter(task_path=back_up_nightly.module_path, status=TaskResultStatus.READY)
    return list(ready.values_list("run_after", flat=True))


@pytest.mark.django_db(transaction=True)
@pytest.mark.usefixtures("real_migrations")
def test_worker_makes_the_first_backup_at_once_and_plans_the_night(ilse: Person) -> None:
    before = timezone.now()
    call_command("plan_backups")
    call_command("plan_backups")
    assert len(planned()) == 1

    call_command("db_worker", batch=True, verbosity=0)

    (night,) = planned()
    assert len(backups_in(settings.BACKUP_DIR)) == 1
    assert night is not None
    assert before < night


@pytest.mark.django_db(transaction=True)
def test_night_that_fails_does_not_end_the_nights(ilse: Person) -> None:
    settings.BACKUP_DIR.write_bytes(b"not a folder")
    plan_backups(timezone.now())

    call_command("db_worker", batch=True, verbosity=0)

    states = DBTaskResult.objects.filter(task_path=back_up_nightly.module_path)
    assert sorted(states.values_list("status", flat=True)) == ["FAILED", "READY"]


@pytest.mark.django_db(transaction=True)
@pytest.mark.usefixtures("real_migrations")
def test_sweep_that_fails_costs_no_backup(ilse: Person) -> None:
    # a folder under the name of a file cannot be removed as one
    left = settings.PAPER_DIR / f"{'0' * 64}.part"
    left.mkdir(parents=True)
    os.utime(left, (0, 0))
    plan_backups(timezone.now())

    call_command("db_worker", batch=True, verbosity=0)

    done = dict(
        DBTaskResult.objects.exclude(status=TaskResultStatus.READY).values_list("task_path", "status")
    )
    assert done == {back_up_nightly.module_path: "SUCCESSFUL", sweep_leftovers.module_path: "FAILED"}
    assert len(backups_in(settings.BACKUP_DIR)) == 1
    left.rmdir()


@pytest.mark.parametrize(
    ("now", "night"),
    [
        ("2026-06-02T06:00", "2026-06-02T06:30"),
        ("2026-06-02T06:30", "2026-06-03T06:30"),
        ("2026-06-02T23:00", "2026-06-03T06:30"),
        # the clock jumps from two to three in that night, and back from two to one in this
        ("2026-03-08T01:00", "2026-03-08T07:30"),
        ("2026-11-01T01:00", "2026-11-01T07:30"),
        ("2028-02-28T08:00", "2028-02-29T07:30"),
    ],
)
def test_next_night_is_half_past_two_by_the_shops_clock(now: str, night: str) -> None:
    moments = [datetime.fromisoformat(one).replace(tzinfo=UTC) for one in (now, night)]

    assert next_night(moments[0], zone=ZoneInfo("America/New_York")) == moments[1]


def test_nights_go_on_over_every_change_of_the_clock_t29() -> None:
    """Half past two comes twice where three becomes two: asked at any minute, the next night lies ahead."""
    zone = ZoneInfo("Europe/Stockholm")
    for begins in (datetime(2026, 3, 28, 20, tzinfo=UTC), datetime(2026, 10, 24, 20, tzinfo=UTC)):
        moments = [begins + timedelta(minutes=minute) for minute in range(600)]
        waits = [next_night(moment, zone=zone) - moment for moment in moments]

        assert min(waits) > timedelta(0)
        assert max(waits) <= timedelta(hours=25)
        assert len({next_night(moment, zone=zone) for moment in moments}) == 2
