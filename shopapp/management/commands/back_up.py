"""Makes a backup of database, photos and papers, while people go on working."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from shopapp.files.backup_archives import BackupRefused
from shopapp.files.backups import back_up


class Command(BaseCommand):
    """``manage.py back_up``; ends with 1 and a sentence when no good backup could be made."""

    help = "Make one file with the database, the photos and the papers; keeps the newest fourteen."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--to", metavar="FOLDER", type=Path, help="instead of the folder of backups")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            made = back_up(options["to"] or Path(settings.BACKUP_DIR), at=timezone.now())
        except BackupRefused as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"{made.path} ({made.byte_size / 1e6:.1f} MB) was made and read back.")
