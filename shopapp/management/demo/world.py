"""What the steps of the demo share: who plays, the calendar, the parts list, the photos, the visits."""

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from typing import Any

from shopapp.actions.actor import Actor, Scope
from shopapp.calc.money import from_e4
from shopapp.files.photos import StoredPhoto
from shopapp.management.demo.moments import Calendar
from shopapp.models import Job, Part, Person, QuoteRevision, WorkOrder
from shopapp.queries.prices import list_price

Facts = Mapping[str, Any]


@dataclass(frozen=True, kw_only=True)
class Listed:
    """A part of the shop's list with what it sells for."""

    part: Part
    price: Decimal


@dataclass
class Visit:
    """One visit on its way through the shop."""

    facts: Facts
    work_order: WorkOrder
    jobs: list[Job] = field(default_factory=list)
    revision: QuoteRevision | None = None

    def job(self, facts: Facts) -> Job:
        """The job that a step names by its place, else the first one; as it is in the database now."""
        return Job.objects.get(pk=self.jobs[facts.get("job", 1) - 1].pk)

    @property
    def sent(self) -> QuoteRevision:
        """The quote that was written last."""
        if self.revision is None:
            raise LookupError(f"{self.facts['key']} has no quote yet.")
        return self.revision


@dataclass
class World:
    """The shop while its story is played."""

    calendar: Calendar
    people: Mapping[str, Person]
    photos: Mapping[str, StoredPhoto]
    visits: dict[str, Visit] = field(default_factory=dict)
    parts: dict[str, Listed] = field(default_factory=dict)

    def learn_parts(self) -> None:
        """Read the parts list once, so that quotes need not ask for each price."""
        for part in Part.objects.order_by("pk"):
            price_e4 = list_price(part)["unit_price_e4"]
            self.parts[part.number] = Listed(part=part, price=from_e4(price_e4 or 0))

    def actor(self, username: str, *, at: datetime) -> Actor:
        """Somebody of the shop at that moment."""
        return Actor(scope=Scope.DESK, person=self.people[username], at=at)


def drawn_name(name: str) -> str:
    """A signature as the pad sends it: one line of waves, as many as the name has letters."""
    waves = len(name)
    points = [
        {
            "x": 40 + step * 520 / (waves * 6),
            "y": round(
                120 + 34 * math.sin(step * 1.1) + 18 * math.sin(step * 0.37 + ord(name[step // 6])), 1
            ),
            "time": step * 16,
            "pressure": 0.5,
        }
        for step in range(waves * 6)
    ]
    return json.dumps({"width": 600, "height": 240, "strokes": [{"points": points}]})
