"""How an action says no: a sentence for a person."""

from typing import Any


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
        super().__init__("Somebody else changed this while you were writing.")
        self.record = record


class Busy(Refused):
    """The same request is still running, and the wait for it ran out."""
