"""Fills an empty database with the invented shop; run again, it changes nothing and tells the sign-ins."""

import json
import os
import secrets
from argparse import ArgumentParser
from datetime import timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.parts import add_part
from shopapp.actions.people import add_person
from shopapp.actions.shop import found_shop
from shopapp.management.demo_visits import Crew, play
from shopapp.management.shop_files import founding_input, part_input, person_input
from shopapp.models import Person, Shop

# before the first visit, so that the story runs forward in the activity chain
FOUNDED_BEFORE = timedelta(days=60)
FACTS = settings.BASE_DIR / "fixtures" / "demo_shop.json"


class Command(BaseCommand):
    """``manage.py demo_shop`` fills the shop; ``--sign-ins`` only tells who may sign in and how."""

    help = "Fill an empty database with the demo shop."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--sign-ins", action="store_true", help="only print the sign-ins")

    def handle(self, *args: Any, **options: Any) -> None:
        if not options["sign_ins"]:
            self._fill()
        if not _sign_ins().exists():
            raise CommandError("This database holds a shop that is not the demo shop; it was left alone.")
        self.stdout.write(_sign_ins().read_text().rstrip())

    def _fill(self) -> None:
        if Shop.objects.exists():
            return
        facts = json.loads(FACTS.read_text())
        passwords = {person["username"]: secrets.token_urlsafe(9) for person in facts["people"]}
        # first the file: a stop in between leaves sign-ins without a shop, and the next run writes both anew
        _keep_sign_ins(facts, passwords=passwords)
        with transaction.atomic():
            _populate(facts, passwords=passwords)
        self.stdout.write(f"Filled {facts['shop']['name']} with {len(facts['visits'])} visits.")


def _populate(facts: dict[str, Any], *, passwords: dict[str, str]) -> None:
    now = timezone.now()
    by = Actor(scope=Scope.SYSTEM, at=now - FOUNDED_BEFORE)
    found_shop(founding_input(facts["shop"]), by=by)
    people: dict[str, Person] = {}
    for person in facts["people"]:
        username = person["username"]
        people[username] = add_person(person_input(person, password=passwords[username]), by=by)
    crew = Crew(
        desk=next(person for person in people.values() if person.is_front_desk),
        owner=next(person for person in people.values() if person.is_owner),
        technicians={name: person for name, person in people.items() if person.is_technician},
    )
    owner = Actor(scope=Scope.DESK, person=crew.owner, at=by.at)
    for part in facts["parts"]:
        add_part(part_input(part), by=owner)
    for visit in sorted(facts["visits"], key=lambda visit: -visit["days_ago"]):
        play(visit, crew=crew, now=now)


def _sign_ins() -> Path:
    return Path(settings.DATA_DIR) / "sign-ins.txt"


def _keep_sign_ins(facts: dict[str, Any], *, passwords: dict[str, str]) -> None:
    """The passwords lie beside the data, readable by this user only, so that a second run can tell them."""
    lines = [
        f"{person['name']:<16} {', '.join(person['roles']).replace('_', ' '):<12}"
        f" sign-in name {person['username']:<8} password {passwords[person['username']]}"
        for person in facts["people"]
    ]
    path = _sign_ins()
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w") as file:
        file.write("\n".join(lines) + "\n")
