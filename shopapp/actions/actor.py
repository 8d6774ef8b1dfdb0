"""Who does something: a person, or a customer behind a link; with a scope and the time it happened."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from shopapp.models import CustomerLink, Person


class Scope(StrEnum):
    """From where an actor acts."""

    DESK = "desk"
    LINK = "link"
    SYSTEM = "system"


@dataclass(frozen=True, kw_only=True)
class Actor:
    """Every action is done by an actor; rights are asked of it."""

    scope: Scope
    at: datetime
    person: Person | None = None
    link: CustomerLink | None = None

    @property
    def reference(self) -> str:
        """Stable text for the activity chain, such as ``person:3``."""
        if self.person is not None:
            return f"person:{self.person.pk}"
        return f"link:{self.link.pk}" if self.link is not None else "system"

    @property
    def name(self) -> str:
        """The name a person reads in the feed."""
        if self.person is not None:
            return self.person.name
        return "customer" if self.link is not None else "the app"
