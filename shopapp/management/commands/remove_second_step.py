"""Takes a second step off on the shop's own machine, for an owner who lost telephone and paper codes."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.second_steps import remove
from shopapp.actions.sessions import end_sessions
from shopapp.models import Person


class Command(BaseCommand):
    """``manage.py remove_second_step maren``: all sign-ins end; the password stays; the chain tells of it.

    Whoever may run commands here has proved who they are to the machine; make sure of the person before.
    """

    help = "Take a person's second step off; where owners owe one, it is set up anew at the next sign-in."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("username", help="the sign-in name")

    def handle(self, *args: Any, **options: Any) -> None:
        by = Actor(scope=Scope.SYSTEM, at=timezone.now())
        person = Person.objects.filter(username=options["username"]).first()
        if person is None:
            raise CommandError(f"Nobody has the sign-in name {options['username']}.")
        if not remove(person.pk, by=by):
            raise CommandError(f"{person.name} has no second step.")
        end_sessions(person.pk, by=by)
        self.stdout.write(f"The second step of {person.name} is taken off. All their sign-ins have ended.")
