"""Verifies everything that must always be true: chain, signed answers, sums, numbers, shown texts, photos."""

from argparse import ArgumentParser
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from shopapp.files.photos import missing_photos
from shopapp.files.tombstones import unfinished
from shopapp.queries.broken_sums import first_broken_sum


class Command(BaseCommand):
    """``manage.py verify_shop``; ends with 1 and a sentence at the first thing that is wrong.

    ``restore`` runs it on what it unpacked. A photo without its file is told, and does not fail: it would
    keep everything else from being restored.
    """

    help = "Verify the activity chain, the signed answers, all sums and numbers, and the photos."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--noted", metavar="SEQ:HASH", help="a head of the chain noted elsewhere")

    def handle(self, *args: Any, **options: Any) -> None:
        call_command("verify_activity", noted=options["noted"], stdout=self.stdout)
        if (fault := first_broken_sum()) is not None:
            raise CommandError(fault)
        if waiting := unfinished():
            raise CommandError(
                f"{len(waiting)} customers whose data was erased are here. Run: manage.py finish_erasures"
            )
        self.stdout.write("All sums, numbers and shown texts are right.")
        if missing := missing_photos():
            self.stdout.write(f"{missing} photos have no file.")
