"""Ends every sign-in and every tablet at once: after a restore, or when nobody knows who is in."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.sessions import end_all


class Command(BaseCommand):
    """``manage.py end_sign_ins``; safe to repeat. ``restore`` runs it on what it unpacked."""

    help = "Sign everybody out everywhere and end all tablets; the chain tells of it."

    def handle(self, *args: Any, **options: Any) -> None:
        ended = end_all(by=Actor(scope=Scope.SYSTEM, at=timezone.now()))
        self.stdout.write(f"{ended.sessions} sign-ins and {ended.tablets} tablets have ended.")
