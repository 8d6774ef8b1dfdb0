"""Plans the nightly backup, which the worker then makes and plans on."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from shopapp.tasks import plan_backups


class Command(BaseCommand):
    """``manage.py plan_backups`` before each start of the worker; does nothing where one is planned."""

    help = "Plan the nightly backup; the worker (manage.py db_worker) makes it."

    def handle(self, *args: Any, **options: Any) -> None:
        moment = plan_backups(timezone.now())
        if moment is None:
            self.stdout.write("A backup is planned already.")
        else:
            self.stdout.write(f"The next backup is planned for {moment.isoformat(timespec='minutes')}.")
