"""Removes photo files that no job names: what is left when the power fails between a file and its row."""

from datetime import timedelta
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from shopapp.files.photos import sweep_photos

# a file is written some moments before its row; a day is far more than that
AGE = timedelta(days=1)


class Command(BaseCommand):
    """``manage.py sweep_photos``, once a day or now and then; people may go on working."""

    help = "Remove photo files that are a day old and belong to no job."

    def handle(self, *args: Any, **options: Any) -> None:
        removed = sweep_photos(timezone.now() - AGE)
        self.stdout.write(f"{removed} leftover files were removed.")
