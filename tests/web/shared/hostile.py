"""Sends odd values through a form, and looks whether anything changed that should not have."""

from collections.abc import Callable, Iterable
from html import escape

from django.apps import apps
from django.db import connection
from django.test import Client

from shopapp.models import BrowserSession
from tests.web.shared.bad_values import tried_values

# names that would do harm in a page or in a spreadsheet
NASTY_NAMES = ("<script>alert(1)</script>", '=HYPERLINK("http://evil.example","x")')


def row_counts() -> dict[str, int]:
    """How many rows each table of the shop has, but for the browsers that look at it."""
    models = [one for one in apps.get_app_config("shopapp").get_models() if one is not BrowserSession]
    counts = ", ".join(f"(SELECT count(*) FROM {one._meta.db_table})" for one in models)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {counts}")
        return dict(zip((one.__name__ for one in models), cursor.fetchone(), strict=True))


def troubles_with_bad_values(
    client: Client,
    address: str,
    *,
    good: Callable[[], dict[str, str]],
    fields: Iterable[str],
    hidden: Iterable[str] = (),
    fine: Iterable[int] = (302, 409, 422),
) -> list[str]:
    """What goes wrong when each odd value is put into one field after the other.

    Each answer is below 500; a refusal is a 422 that says something at a field and still holds what was
    typed. ``hidden``: fields whose refused value need not be shown (choices).
    ``fine``: the answers that are right.
    """
    names, found = list(fields), []
    for place, value in enumerate(tried_values()):
        name = names[place % len(names)]
        response = client.post(address, good() | {name: value})
        content = response.content.decode()
        if response.status_code not in fine:
            found.append(f"{name}={value[:40]!r}: {response.status_code}")
        if response.status_code == 422 and 'id="error-summary"' not in content:
            found.append(f"{name}={value[:40]!r}: nothing is said")
        if response.status_code == 422 and name not in hidden and escape(value) not in content:
            found.append(f"{name}={value[:40]!r}: what was typed is lost")
    return found
