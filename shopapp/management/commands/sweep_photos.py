"""Removes files of photos and papers that nothing names: left when the power fails between file and row."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from shopapp.tasks import sweep


class Command(BaseCommand):
    """``manage.py sweep_photos``; people may go on working. The worker does the same each night."""

    help = "Remove files of photos and papers that are a day old and belong to nothing."

    def handle(self, *args: Any, **options: Any) -> None:
        removed = sweep(timezone.now())
        self.stdout.write(f"{removed} leftover files were removed.")
