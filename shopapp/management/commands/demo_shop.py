"""Fills an empty database with the invented shop; run again, it changes nothing and tells the sign-ins."""

import io
import json
import os
import secrets
from argparse import ArgumentParser
from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.parts import add_part
from shopapp.actions.people import add_person
from shopapp.actions.pins import set_pin
from shopapp.actions.shop import found_shop
from shopapp.calc.pins import DIGITS, is_weak
from shopapp.files.drawn import PICTURES
from shopapp.files.photos import StoredPhoto, store_photo
from shopapp.management.demo.book import write_book
from shopapp.management.demo.moments import Calendar
from shopapp.management.demo.play import play
from shopapp.management.demo.world import Facts, World
from shopapp.management.shop_files import founding_input, part_input, person_input
from shopapp.models import Person, Shop
from shopapp.tasks import plan_backups

# before the first visit, so that the story runs forward in the activity chain
FOUNDED_BEFORE = timedelta(days=150)
FIXTURES = settings.BASE_DIR / "fixtures"


class Command(BaseCommand):
    """``manage.py demo_shop`` fills the shop; ``--sign-ins`` only tells who may sign in and how."""

    help = "Fill an empty database with the demo shop."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--sign-ins", action="store_true", help="only print the sign-ins")
        parser.add_argument("--prepare", action="store_true", help="first make tables and static files")
        parser.add_argument("--empty", action="store_true", help="only the shop and its people, nothing else")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["prepare"]:
            call_command("migrate", verbosity=0)
            call_command("collectstatic", interactive=False, verbosity=0)
        if not options["sign_ins"]:
            self._fill(is_empty=options["empty"])
        if not _sign_ins().exists():
            raise CommandError("This database holds a shop that is not the demo shop; it was left alone.")
        if options["prepare"]:
            plan_backups(timezone.now())
        self.stdout.write(_sign_ins().read_text().rstrip())

    def _fill(self, *, is_empty: bool) -> None:
        if Shop.objects.exists():
            return
        facts = _read("demo_shop")
        if is_empty:
            # the guide of the first days leads the owner through these
            facts["shop"] |= {"terms": {}, "fees": []}
        visits = [] if is_empty else _visits()
        passwords = {person["username"]: secrets.token_urlsafe(9) for person in facts["people"]}
        pins = {username: _fresh_pin() for username in passwords}
        # first the files: a stop in between leaves them without a shop, and the next run writes them anew
        _keep_sign_ins(facts, passwords=passwords, pins=pins)
        photos = {} if is_empty else _store_photos()
        with transaction.atomic():
            people = _join(facts, passwords=passwords, pins=pins)
            _populate(facts, visits=visits, photos=photos, people=people)
        self.stdout.write(f"Filled {facts['shop']['name']} with {len(visits)} visits.")


def _read(name: str) -> Any:
    return json.loads((FIXTURES / f"{name}.json").read_text(encoding="utf-8"))


def _visits() -> list[Facts]:
    """The story and the other visits, each with the facts of the repair that it names."""
    others = _read("demo_visits")
    told = [{**others["repairs"].get(visit.get("repair"), {}), **visit} for visit in others["visits"]]
    return [*_read("demo_story"), *told]


def _store_photos() -> dict[str, StoredPhoto]:
    return {name: store_photo(io.BytesIO(draw()), name=f"{name}.jpg") for name, draw in PICTURES.items()}


def _fresh_pin() -> str:
    """Six digits drawn by lot, none of those that are guessed first."""
    while is_weak(pin := f"{secrets.randbelow(10**DIGITS):0{DIGITS}}"):
        pass
    return pin


def _join(facts: Facts, *, passwords: dict[str, str], pins: dict[str, str]) -> dict[str, Person]:
    """Found the shop; its people join, each with a password, and a PIN for the tablets."""
    by = Actor(scope=Scope.SYSTEM, at=timezone.now() - FOUNDED_BEFORE)
    found_shop(founding_input(facts["shop"]), by=by)
    people = {}
    for person in facts["people"]:
        username = person["username"]
        joined = add_person(person_input(person, password=passwords[username]), by=by)
        set_pin(pins[username], by=Actor(scope=Scope.DESK, person=joined, at=by.at))
        people[username] = joined
    return people


def _populate(
    facts: Facts,
    *,
    visits: Sequence[Facts],
    photos: dict[str, StoredPhoto],
    people: dict[str, Person],
) -> None:
    if not visits:
        return
    now = timezone.now()
    by = Actor(scope=Scope.SYSTEM, at=now - FOUNDED_BEFORE)
    calendar = Calendar(now=now, zone=facts["shop"]["time_zone"])
    world = World(calendar=calendar, people=people, photos=photos)
    for part in facts["parts"]:
        add_part(part_input(part), by=world.actor("maren", at=by.at))
    write_book(_read("demo_spec_book"), by=world.actor("maren", at=by.at))
    world.learn_parts()
    play(visits, beside_them=_read("demo_beside"), world=world)


def _sign_ins() -> Path:
    return Path(settings.DATA_DIR) / "sign-ins.txt"


def _keep_sign_ins(facts: Facts, *, passwords: dict[str, str], pins: dict[str, str]) -> None:
    """Passwords and PINs lie beside the data, for this user only, so that a second run can tell them."""
    lines = [
        f"{person['name']:<16} {', '.join(person['roles']).replace('_', ' '):<12}"
        f" sign-in name {person['username']:<8} PIN {pins[person['username']]}"
        f" password {passwords[person['username']]}"
        for person in facts["people"]
    ]
    path = _sign_ins()
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w") as file:
        file.write("\n".join(lines) + "\n")
