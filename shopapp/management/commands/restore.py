"""Restores a backup into an empty place, after verifying it beside."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from shopapp.files.backup_archives import BackupRefused
from shopapp.files.restoring import restore


class Command(BaseCommand):
    """``manage.py restore FILE`` with the server and the worker stopped; all of it or nothing."""

    help = "Restore a backup into an empty place. Stop the web server and the worker first."
    # a place to restore into has no tables yet
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            contents = restore(options["file"])
        except BackupRefused as error:
            raise CommandError(str(error)) from error
        except OSError as error:
            raise CommandError(f"Nothing was restored: {error.strerror or error}.") from error
        count = sum(name.startswith(("photos/", "papers/")) for name in contents.files)
        self.stdout.write(f"The shop of {contents.made_at} is back, with {count} photos and papers.")
        self.stdout.write("Everybody signs in anew, and the owner enrols each tablet again.")
        self.stdout.write("What was closed since then is open again: look through the people and the links.")
        self.stdout.write("Now run: manage.py migrate")
