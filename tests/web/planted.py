"""Amounts that nobody would write by chance, planted to be looked for in answers."""

import io
import re
from collections.abc import Iterator
from datetime import date, timedelta

from django.apps import apps
from django.db import connection
from django.db.models import Model
from django.utils import timezone
from pypdf import PdfReader

from shopapp.calc.money import format_money, format_number, from_e4, from_minor
from shopapp.models import FluidEntry, Job, PartUsed, Person, TimeEntry, Wage
from shopapp.triggers import apply_triggers, remove_triggers

# four odd decimals each, so that none turns up by chance: 731.0113, 831.0120, …
PLANTED = tuple(7_310_113 + place * 1_000_007 for place in range(80))
LOCALES = ("en_CA", "de_DE", "fr_FR")
# what a thing or an hour costs the shop; what is asked for it is no secret of the desk
SECRETS = ("unit_cost_e4", "hourly_e4")


def plain(planted: int) -> str:
    """Without noughts at the end, as pages write it."""
    return f"{from_e4(planted).normalize():f}"


def ways_to_write(planted: int) -> set[str]:
    """How an amount could be written: as stored, as a number, as money, cut to cents."""
    amounts = (from_e4(planted), from_minor(planted // 100, currency="CAD"))
    written = {str(planted), plain(planted), *(str(amount) for amount in amounts)}
    for locale in LOCALES:
        written |= {format_number(amount, locale=locale) for amount in amounts}
        written |= {format_money(amount, currency="CAD", locale=locale) for amount in amounts}
    return written


_ANY = re.compile("|".join(map(re.escape, sorted(set().union(*map(ways_to_write, PLANTED))))))


def found_in(text: str) -> list[str]:
    """Every way of writing a planted amount that stands in the text."""
    return sorted(set(_ANY.findall(text)))


def words_of(content: bytes) -> str:
    """A page as text, a PDF as its text."""
    if content.startswith(b"%PDF"):
        return " ".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)
    return content.decode(errors="replace")


def secret_columns() -> Iterator[tuple[type[Model], str]]:
    """Every column of the shop that holds a cost or a wage."""
    for model in apps.get_app_config("shopapp").get_models():
        for field in model._meta.concrete_fields:
            if field.name in SECRETS:
                yield model, field.name


def plant(job: Job, person: Person) -> tuple[int, ...]:
    """Every amount that found a row; frozen rows are written past the guards."""
    _log_more(job, person)
    remove_triggers(connection)
    planted = tuple(_planted())
    apply_triggers(connection)
    return planted


def _log_more(job: Job, person: Person) -> None:
    """Enough rows of the actual book and wages that fifty amounts find a place."""
    shared = {"job": job, "logged_by": person, "happened_at": timezone.now(), "recorded_at": timezone.now()}
    for place in range(8):
        PartUsed.objects.create(description=f"Part {place}", quantity_milli=1_000, **shared)
        TimeEntry.objects.create(person=person, minutes=30 + place, **shared)
        FluidEntry.objects.create(point="gearcase", product="Oil", filled_ml=700, **shared)
        day = date(2026, 1, 1) + timedelta(days=place)
        Wage.objects.create(person=person, from_date=day, hourly_e4=0)


def _planted() -> Iterator[int]:
    left = iter(PLANTED)
    for model, column in secret_columns():
        for row in model._default_manager.order_by("-pk"):
            if (amount := next(left, None)) is None:
                break
            model._default_manager.filter(pk=row.pk).update(**{column: amount})
            yield amount
