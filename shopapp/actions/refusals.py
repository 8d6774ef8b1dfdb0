"""How an action says no: a sentence for a person."""

from typing import Any

from django.utils.translation import gettext as _


class Refused(Exception):
    """The rules do not allow it; the sentence may be shown as it stands."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


class NotAllowed(Refused):
    """This actor may not do that."""


class Stale(Refused):
    """Somebody else changed the record since the form was opened; ``record`` is the row as it is now."""

    def __init__(self, record: Any) -> None:
        super().__init__(_("Somebody else changed this while you were writing."))
        self.record = record


class Busy(Refused):
    """The wait for a lock ran out: the same request still runs, or somebody else's work."""
