"""A visit that the desk handed out, and what the tablet sends of the customer's answer at the dock."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from shopapp.actions.dock_calls import HandOutInput, hand_out_dock_call
from shopapp.actions.entries import SettleInput, settle_entry
from shopapp.models import Device, DockCall, Job, Person, QuoteRevision, TabletEntry, WorkOrder
from shopapp.queries.customer_quotes import picked_of, seen_text
from shopapp.queries.entries import Sent
from shopapp.queries.entry_texts import read_entry
from shopapp.queries.shown import stored_content
from shopapp.web.bench.kinds import wanted_by
from tests.factories.entries import Tablet
from tests.factories.quotes import desk, first_options


def handed_out(visit: WorkOrder, device: Device, person: Person, *, by: Person, at: datetime) -> DockCall:
    """The visit, handed to the person at this tablet for the day of that moment."""
    data = HandOutInput(person=person.pk, device=device.pk)
    return hand_out_dock_call(visit.pk, data, by=desk(by, at=at))


def signed_content(
    handed: DockCall, sent: QuoteRevision, *, chosen: Mapping[int, int | None] | None = None, **more: Any
) -> dict[str, Any]:
    """What the page of the call sends for these options (the first ones, unless told) and Aud Nilsen."""
    content = stored_content(sent)
    picks = chosen if chosen is not None else first_options(sent)
    return {
        "call": handed.pk,
        "revision": sent.pk,
        "shown_sha256": sent.shown_sha256,
        "consent_version": content["facts"]["consent"]["version"],
        "answer": "approve",
        "seen": seen_text(picks),
        "total": picked_of(content, picks).totals["with_tax"],
        "says": "; ".join(picked_of(content, picks).words),
        "signed_name": "Aud Nilsen",
        "strokes": "",
        **more,
    }


def job_of(revision: QuoteRevision) -> Job:
    """The job under which the tablet sends an answer to this revision."""
    return revision.quote.work_order.jobs.earliest("pk")


@dataclass(frozen=True, kw_only=True)
class AtDock:
    """A tablet, a person and a sent quote of the visit that was handed out to them."""

    tablet: Tablet
    call: DockCall
    sent: QuoteRevision
    person: Person

    @property
    def job(self) -> Job:
        return job_of(self.sent)

    def write(self, *, after: float = 30, **more: Any) -> Sent:
        """The customer signs so many minutes after the start."""
        content = signed_content(self.call, self.sent, **more)
        return self.tablet.write("signature", self.job, self.person, content, after=after)

    def sign(self, *, after: float = 30, **more: Any) -> TabletEntry:
        """The same, and the shop receives it three hours after the start."""
        return self.tablet.take(self.write(after=after, **more))


def at_dock(sent: QuoteRevision, tablet: Tablet, person: Person, *, by: Person) -> AtDock:
    """The visit of a sent quote, handed out at the start of the tablet's day."""
    call = handed_out(sent.quote.work_order, tablet.device, person, by=by, at=tablet.at)
    return AtDock(tablet=tablet, call=call, sent=sent, person=person)


def taken_in(entry: TabletEntry, *, by: Person, at: datetime) -> TabletEntry:
    """The desk takes it in."""
    wanted = wanted_by(read_entry(entry.text), locale="en")
    return settle_entry(entry.pk, SettleInput(is_taken=True), wanted, by=desk(by, at=at))
