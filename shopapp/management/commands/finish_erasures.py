"""Erases whoever has a tombstone and is still here, as after a power cut or in an older backup."""

from datetime import timedelta
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.erasing import finish_erasures
from shopapp.documents.papers import sweep_papers

SPARED = timedelta(days=1)


class Command(BaseCommand):
    """``manage.py finish_erasures``; safe to repeat. ``restore`` runs it on what it unpacked."""

    help = "Erase those whose erasing was begun, and remove papers that nothing names any more."

    def handle(self, *args: Any, **options: Any) -> None:
        count = finish_erasures(by=Actor(scope=Scope.SYSTEM, at=timezone.now()))
        papers = sweep_papers(timezone.now() - SPARED)
        self.stdout.write(f"{count} customers were erased, {papers} papers that nothing named were removed.")
