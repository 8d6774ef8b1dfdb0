"""Saves an edit only if nobody else saved since the form was opened."""

from typing import Any

from django.db import models
from django.utils.translation import gettext as _

from shopapp.actions.refusals import Refused, Stale


def save_edit[Row: models.Model](row: Row, *, version: int, changes: dict[str, Any]) -> Row:
    """Write ``changes`` if the row still has ``version``, and count one edit; else raises Stale.

    One ``UPDATE … WHERE version = …``: of two senders the first wins, the second gets Stale with the row
    as it is now and nothing of its own is written. Raises Refused when the row was removed meanwhile.
    """
    manager = type(row)._default_manager
    hit = manager.filter(pk=row.pk, version=version).update(version=version + 1, **changes)
    current = manager.filter(pk=row.pk).first()
    if current is None:
        raise Refused(_("Somebody removed this while you were writing."))
    if hit == 0:
        raise Stale(current)
    return current
