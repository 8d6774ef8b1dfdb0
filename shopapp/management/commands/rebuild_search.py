"""Writes the words by which records are found anew, and the index over them."""

from typing import Any

from django.core.management.base import BaseCommand
from django.db import connection

from shopapp.actions import search_texts
from shopapp.triggers import refill_search_index


class Command(BaseCommand):
    """``manage.py rebuild_search``, for when something is not found although it is there."""

    help = "Write the search words of every record anew; people may go on working."

    def handle(self, *args: Any, **options: Any) -> None:
        refill_search_index(connection)
        count = search_texts.rebuild()
        self.stdout.write(f"{count} records can be found.")
