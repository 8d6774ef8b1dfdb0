"""A tablet as its own page behaves: it writes entries, signs them, and sends them in any order."""

import json
import uuid
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.entries import issue_key, take_entry
from shopapp.models import Device, Job, Person, TabletEntry, TabletKey
from shopapp.queries.devices import at_the_bench
from shopapp.queries.entries import Sent, key_secret, signature_of
from shopapp.queries.entry_texts import read_entry
from shopapp.web.bench.kinds import wanted_by
from tests.factories.devices import enrolled, tablet_itself, with_pin


@dataclass(kw_only=True)
class Tablet:
    """An enrolled tablet with people who gave their PIN, and the entries written at it so far."""

    device: Device
    token: str
    at: datetime
    keys: dict[int, TabletKey] = field(default_factory=dict)
    written: int = 0

    def opened_by(self, person: Person) -> "Tablet":
        """The person gives their PIN now."""
        self.keys[person.pk] = issue_key(
            by=Actor(scope=Scope.BENCH, person=at_the_bench(person), device=self.device, at=self.at)
        )
        return self

    def write(
        self,
        kind: str,
        job: Job | None,
        person: Person | None,
        content: dict[str, Any],
        *,
        after: float | None = None,
        told: dict[str, Any] | None = None,
    ) -> Sent:
        """An entry so many minutes after the start, signed by the person's key if they have one here."""
        self.written += 1
        key = self.keys.get(person.pk) if person is not None else None
        at = self.at + timedelta(minutes=self.written if after is None else after)
        usual = {
            "id": str(uuid.uuid4()),
            "device": self.device.pk,
            "sequence": self.written,
            "person": person.pk if person is not None else None,
            "key": str(key.pk) if key is not None else None,
            "kind": kind,
            "job": job.pk if job is not None else None,
            "at": at.isoformat(),
            "offset_ms": 0,
            "content": {name: str(value) for name, value in content.items()},
        }
        text = json.dumps(usual | (told or {}))
        signature = signature_of(text, secret=key_secret(key.pk)) if key is not None else ""
        return self.sent(text, signature)

    def sent(self, text: str, signature: str = "") -> Sent:
        """The text as it comes over the wire, three hours after the start."""
        return Sent(text=text, signature=signature, sent_at=self.received_at, written=read_entry(text))

    @property
    def received_at(self) -> datetime:
        return self.at + timedelta(hours=3)

    def take(self, sent: Sent) -> TabletEntry:
        """The shop takes it."""
        by = tablet_itself(self.device, at=self.received_at)
        return take_entry(sent, wanted_by(sent.written, locale="en"), by=by)


def tablet_of(owner: Person, *people: Person, at: datetime, name: str = "Bench tablet 1") -> Tablet:
    """A tablet that the owner enrolled, at which these people gave their PIN one after the other."""
    device, token = enrolled(owner, at=at, name=name)
    tablet = Tablet(device=device, token=token, at=at)
    for person in people:
        with_pin(person, at=at)
        tablet.opened_by(person)
    return tablet


def waiting_entry(job: Job, *, at: datetime) -> TabletEntry:
    """An entry that waits for the desk, of a tablet of its own: nobody had given a PIN."""
    device, token = enrolled(job.assignments.get().person, at=at, name=f"Tablet of {job}")
    tablet = Tablet(device=device, token=token, at=at)
    return tablet.take(tablet.write("note", job, None, {"text": "Line on the shaft"}))


def mark_of(sent: Sent) -> str:
    """The id that the tablet gave an entry."""
    return str(json.loads(sent.text)["id"])
