"""Removes files of photos and papers that nothing names: left when the power fails between file and row."""

from datetime import timedelta
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from shopapp.documents.papers import sweep_papers
from shopapp.files.photos import sweep_photos

# a file is written some moments before its row; a day is far more than that
AGE = timedelta(days=1)


class Command(BaseCommand):
    """``manage.py sweep_photos``; people may go on working. The worker does the same each night."""

    help = "Remove files of photos and papers that are a day old and belong to nothing."

    def handle(self, *args: Any, **options: Any) -> None:
        before = timezone.now() - AGE
        removed = sweep_photos(before) + sweep_papers(before)
        self.stdout.write(f"{removed} leftover files were removed.")
