"""The shop as a Django app."""

from typing import Any

from django.apps import AppConfig
from django.db import connections
from django.db.models.signals import post_migrate, pre_migrate


def _take_triggers_off(*, using: str, **_: Any) -> None:
    """A migration may write what is frozen, and SQLite can't rebuild a table that triggers look into."""
    from shopapp.triggers import remove_triggers

    remove_triggers(connections[using])


def _put_triggers_back(*, using: str, **_: Any) -> None:
    from shopapp.triggers import apply_triggers

    if "shopapp_searchtext" in connections[using].introspection.table_names():
        apply_triggers(connections[using])


class ShopappConfig(AppConfig):
    """Registers the system checks and takes the triggers off before each migration and puts them back."""

    name = "shopapp"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Connect what Django calls by itself."""
        from shopapp import checks  # noqa: F401  (importing registers the checks)

        pre_migrate.connect(_take_triggers_off, sender=self)
        post_migrate.connect(_put_triggers_back, sender=self)
