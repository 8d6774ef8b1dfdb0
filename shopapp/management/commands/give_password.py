"""Gives somebody a first password on the shop's own machine, for whom no owner can do it in the browser."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.passwords import give_first_password
from shopapp.actions.refusals import Refused
from shopapp.models import Person


class Command(BaseCommand):
    """``manage.py give_password maren``: the old password and all sign-ins end; the chain tells of it."""

    help = "Give a person a first password, printed once; a second step stays as it is."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("username", help="the sign-in name")

    def handle(self, *args: Any, **options: Any) -> None:
        by = Actor(scope=Scope.SYSTEM, at=timezone.now())
        person = Person.objects.filter(username=options["username"]).first()
        if person is None:
            raise CommandError(f"Nobody has the sign-in name {options['username']}.")
        try:
            password = give_first_password(person.pk, by=by)
        except Refused as refusal:
            raise CommandError(refusal.sentence) from None
        self.stdout.write(f"Sign-in name {person.username}, first password {password}")
