"""Founds the shop and adds its people from a JSON file; first passwords are made and printed once."""

import json
from argparse import ArgumentParser
from dataclasses import replace
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.passwords import first_password
from shopapp.actions.people import add_person
from shopapp.actions.refusals import Refused
from shopapp.actions.shop import found_shop
from shopapp.calc.errors import BadInput
from shopapp.management.shop_files import founding_input, person_input


class Command(BaseCommand):
    """``manage.py found_shop my_shop.json`` before the first day."""

    help = "Found the shop and add its people from a JSON file; prints each person's first password once."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        by = Actor(scope=Scope.SYSTEM, at=timezone.now())
        try:
            facts = json.loads(options["file"].read_text())
            passwords = {person["username"]: first_password() for person in facts["people"]}
            with transaction.atomic():
                found_shop(founding_input(facts["shop"]), by=by)
                for person in facts["people"]:
                    joins = person_input(person, password=passwords[person["username"]])
                    add_person(replace(joins, is_first=True), by=by)
        except (Refused, BadInput) as error:
            raise CommandError(str(error)) from error
        except (KeyError, ValueError, OSError) as error:
            raise CommandError(f"{options['file']} cannot be used: {error!r}") from error
        for username, password in passwords.items():
            self.stdout.write(f"Sign-in name {username}, first password {password}")
