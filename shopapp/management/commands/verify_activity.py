"""Walks the activity chain and the answers it tells of, and names the first row that was tampered with."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from shopapp.actions import activity
from shopapp.actions.answers import first_unfaithful_answer
from shopapp.calc.errors import BadInput


class Command(BaseCommand):
    """``manage.py verify_activity``; ends with 1 and a sentence when the chain does not hold.

    The same when a customer's answer is no longer the one that was signed and chained.
    A tail that was cut off together with the chain's head is seen only against a head noted elsewhere: so
    the command prints the head, and ``--noted`` takes one back.
    """

    help = "Verify who did what and the signed answers; prints the chain's head, to be noted elsewhere."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--noted", metavar="SEQ:HASH", help="a head that an earlier run printed")

    def handle(self, *args: Any, **options: Any) -> None:
        if (fault := activity.first_bad_link()) is not None:
            raise CommandError(fault)
        try:
            is_missed = options["noted"] is not None and not activity.holds(options["noted"])
        except BadInput as error:
            raise CommandError(str(error)) from error
        if is_missed:
            seq = options["noted"].partition(":")[0]
            raise CommandError(f"The chain holds, but activity {seq} is not in it as it was noted.")
        if (fault := first_unfaithful_answer()) is not None:
            raise CommandError(fault)
        self.stdout.write("Every customer's answer is as it was signed.")
        self.stdout.write(f"The chain holds. Its head is {activity.head_text()}")
