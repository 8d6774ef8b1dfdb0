"""Who does something: a person, a customer behind a link, a tablet; with a scope and the time it happened."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from shopapp.models import CustomerLink, Device, Person


class Scope(StrEnum):
    """From where an actor acts."""

    DESK = "desk"
    # a person who gave a PIN at an enrolled tablet: the rights of the bench and nothing more
    BENCH = "bench"
    LINK = "link"
    # the tablet itself, before anybody gave a PIN
    DEVICE = "device"
    SYSTEM = "system"


@dataclass(frozen=True, kw_only=True)
class Actor:
    """Every action is done by an actor; rights are asked of it."""

    scope: Scope
    at: datetime
    person: Person | None = None
    link: CustomerLink | None = None
    device: Device | None = None
    # when it reached the shop, where that is later than when it happened
    received_at: datetime | None = None

    @property
    def recorded_at(self) -> datetime:
        """When the shop learned of it."""
        return self.received_at or self.at

    @property
    def reference(self) -> str:
        """Stable text for the activity chain, such as ``person:3``."""
        if self.person is not None:
            return f"person:{self.person.pk}"
        if self.device is not None:
            return f"device:{self.device.pk}"
        return f"link:{self.link.pk}" if self.link is not None else "system"

    @property
    def name(self) -> str:
        """The name a person reads in the feed."""
        if self.person is not None:
            return self.person.name
        if self.device is not None:
            return self.device.name
        return "customer" if self.link is not None else "the app"
