"""Starts the project's own programs against the test's database, as the shop's machine would."""

import os
import subprocess
import sys
from pathlib import Path
from urllib.parse import quote

from django.conf import settings
from django.db import connection

REPOSITORY = Path(__file__).resolve().parents[1]


def database_url() -> str:
    """The address of the database that this test uses."""
    facts = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{facts['NAME']}"
    user, password, host = (quote(str(facts[name] or ""), safe="") for name in ("USER", "PASSWORD", "HOST"))
    return f"postgres://{user}:{password}@{host}:{facts['PORT'] or 5432}/{facts['NAME']}"


def surroundings(**changes: str) -> dict[str, str]:
    """The environment of a program: the test's database and key, nothing else of the project's settings."""
    own = {
        "DATABASE_URL": database_url(),
        "SHOPAPP_CHAIN_KEY": settings.CHAIN_KEY,
        "SHOPAPP_DATA": str(settings.PHOTO_DIR.parent),
        "DJANGO_SETTINGS_MODULE": "shopapp.settings",
    }
    # what the browser tests set for themselves would be an error in production
    dropped = ("SHOPAPP_", "DJANGO_ALLOW_ASYNC_UNSAFE")
    kept = {name: value for name, value in os.environ.items() if not name.startswith(dropped)}
    return kept | own | changes


def manage(*words: str, **changes: str) -> subprocess.CompletedProcess[str]:
    """``manage.py words`` to its end."""
    return subprocess.run(
        [sys.executable, "manage.py", *words],
        cwd=REPOSITORY,
        env=surroundings(**changes),
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
