"""Entries of tablets are taken, each once, in whatever order they come; what can't be taken goes to the desk.

Locks in order: the tablet, the entry's text, then what the entry's own action locks, last the chain head.
"""

import uuid
from dataclasses import dataclass, replace
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.actuals import LogTimeInput
from shopapp.actions.clocks import ClockOffInput, ClockOnInput
from shopapp.actions.dock_answers import DockAnswerInput
from shopapp.actions.entry_deeds import Deed, UndoInput, do_deed, take_back
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.rights import desk_person
from shopapp.calc.errors import BadInput
from shopapp.models import Device, EntryState, Job, TabletEntry, TabletKey
from shopapp.queries.entries import Known, Sent, Written, known, same_mark

LONGEST_REASON = 300
# what may be said without a job
JOBLESS = ("undo", "clock_on", "clock_off")


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What the form of its kind made of an entry: a deed, or the sentence why it is none."""

    deed: Deed | UndoInput | None = None
    problem: str = ""


@transaction.atomic
def issue_key(*, by: Actor) -> TabletKey:
    """Give the person who is at a tablet by PIN the key that signs what they write there.

    Locks the tablet. A second sender gets a second key of the same rights; keys hold no secret in the
    database. If the power fails before the commit there is none, and the tablet asks again.
    """
    if by.scope != Scope.BENCH or by.person is None or by.device is None:
        raise NotAllowed(_("Keys are for people at an enrolled tablet."))
    locked(Device.objects.filter(pk=by.device.pk)).get()
    return TabletKey.objects.create(
        id=uuid.uuid4(), device=by.device, person_id=by.person.pk, issued_at=by.at
    )


@transaction.atomic
def take_entry(sent: Sent, wanted: Wanted, *, by: Actor) -> TabletEntry:
    """Take one entry: into the books by the action of its kind, or onto the desk's list with the reason.

    Locks the tablet (two senders of one tablet follow each other), claims the entry's text, then what the
    action locks, last the chain head. Whoever sends the same text again gets the stored answer; the same id
    with other text goes to the desk. If the power fails before the commit nothing has happened and the tablet
    sends it again; after it, the next send gets the answer. What an action refuses it undoes by itself; the
    entry stays, with the sentence. Raises NotAllowed for a tablet that is no longer enrolled.
    """
    device, claim = _lock_tablet(by), uuid.uuid4()
    row = _claimed(sent, device=device, claim=claim, at=by.at)
    if row.claim != claim:
        return row
    who = known(sent, device=device, received_at=by.at)
    _describe(row, sent.written, who=who)
    misplaced = _doubt_of_place(row, sent.written, device=device)
    row.reason = who.doubt or misplaced or wanted.problem
    author = Actor(scope=Scope.BENCH, person=who.person, device=device, at=who.at, received_at=by.at)
    if not row.reason:
        _do(row, wanted, by=author)
    _take_back_if_undone(row, by=author)
    row.reason = row.reason[:LONGEST_REASON]
    row.save()
    if row.state == EntryState.REVIEW:
        work_order = row.job.work_order if row.job is not None else None
        entry = Entry(verb="keep for the desk", record=row, work_order=work_order)
        activity.record([entry], by=by)
    return row


def _lock_tablet(by: Actor) -> Device:
    pk = by.device.pk if by.device is not None else 0
    device = locked(Device.objects.filter(pk=pk, ended_at=None)).first()
    if device is None:
        raise NotAllowed(_("This tablet is no longer enrolled. The owner can enrol it again."))
    return device


def _claimed(sent: Sent, *, device: Device, claim: uuid.UUID, at: datetime) -> TabletEntry:
    """The row of this text: the one just claimed, or whosever came first."""
    row = TabletEntry(
        text=sent.text,
        text_sha256=sent.text_sha256,
        signature=sent.signature[:64],
        claim=claim,
        device=device,
        happened_at=at,
        received_at=at,
        reason=_("not looked at yet"),
    )
    TabletEntry.objects.bulk_create([row], ignore_conflicts=True)
    return TabletEntry.objects.get(text_sha256=sent.text_sha256)


def _describe(row: TabletEntry, written: Written | None, *, who: Known) -> None:
    """Fill in what the text says of itself, and who and when as far as that is sure."""
    row.happened_at = who.at
    if who.person is not None:
        row.person_id = who.person.pk
    if written is None:
        return
    row.entry_id = written.id if same_mark(written.id) is None else None
    # another tablet's number says nothing about this one
    row.sequence = written.sequence if written.device == row.device_id else None
    row.kind, row.tablet_at = written.kind[:20], written.at
    row.job = Job.objects.select_related("work_order").filter(pk=written.job or 0).first()


def _doubt_of_place(row: TabletEntry, written: Written | None, *, device: Device) -> str:
    """Whether it stands where one entry can stand: its own id, its own number, a job that is there."""
    if row.entry_id is None:
        return _("Another entry came under the same mark with other content.")
    if row.sequence is not None and not _count_in(device, sequence=row.sequence, but=row.pk):
        return _("Two entries of this tablet carry the number %s.") % row.sequence
    if written is not None and row.kind not in JOBLESS and row.job is None:
        return _("The job that it names is not there.")
    return ""


def _count_in(device: Device, *, sequence: int, but: int) -> bool:
    """Note at the (locked) tablet that this number came, for the first time."""
    if TabletEntry.objects.filter(device=device, sequence=sequence).exclude(pk=but).exists():
        return False
    device.last_sequence = max(device.last_sequence, sequence)
    device.sequences_here += 1
    device.save(update_fields=["last_sequence", "sequences_here"])
    return True


def _do(row: TabletEntry, wanted: Wanted, *, by: Actor) -> None:
    """Do what it says, in a savepoint of its own; what is refused leaves only the sentence."""
    try:
        with transaction.atomic():
            if isinstance(wanted.deed, UndoInput):
                _undo(row, wanted.deed, by=by)
            elif wanted.deed is not None:
                row.row = do_deed(wanted.deed, row.job_id, by=by)
            row.state = EntryState.STORED
    except (Refused, BadInput) as refusal:
        row.reason = refusal.sentence


def _undo(row: TabletEntry, data: UndoInput, *, by: Actor) -> None:
    """Take another entry back; one that has not come yet is taken back when it comes."""
    row.undoes = data.entry
    # the desk may be dealing with it at this moment
    other = locked(TabletEntry.objects.filter(entry_id=data.entry)).first()
    if other is None:
        return
    if other.person_id != row.person_id:
        raise NotAllowed(_("It would take back what somebody else wrote."))
    row.job = other.job
    if other.state == EntryState.TAKEN:
        raise Refused(_("The desk took that entry in already."))
    _back(other, by=by)
    other.save()


def _take_back_if_undone(row: TabletEntry, *, by: Actor) -> None:
    """What was taken back before it came is struck out at once; where that can't be, the desk is told."""
    if row.entry_id is None or by.person is None:
        return
    undone = TabletEntry.objects.filter(
        undoes=row.entry_id, state=EntryState.STORED, person=by.person
    ).first()
    if undone is None:
        return
    try:
        with transaction.atomic():
            _back(row, by=by)
    except Refused as refusal:
        undone.state, undone.reason = EntryState.REVIEW, refusal.sentence
        undone.save()


def _back(row: TabletEntry, *, by: Actor) -> None:
    """What became of it is struck out; what waited for the desk waits no longer."""
    if row.state == EntryState.STORED and row.row:
        take_back(row.row, by=by)
    if row.state == EntryState.REVIEW:
        row.state, row.settled_reason = EntryState.SET_ASIDE, _("taken back at the tablet")
        row.settled_by_id, row.settled_at = by.person.pk if by.person is not None else None, by.recorded_at


@dataclass(frozen=True, kw_only=True)
class SettleInput:
    """What the desk does with an entry: takes it in (for somebody), or sets it aside with a reason."""

    is_taken: bool
    reason: str = ""
    person: int | None = None


@transaction.atomic
def settle_entry(pk: int, data: SettleInput, wanted: Wanted, *, by: Actor) -> TabletEntry:
    """Take an entry in that could not be taken by itself, or set it aside; either way it stays readable.

    Taken in, it is what the desk logs, at the time the entry says. Locks the entry, then what the action of
    its kind locks, last the chain head. A second sender is refused: it is dealt with. If the power fails, all
    of it or nothing. Raises NotAllowed away from the desk, Refused or BadInput as the action says.
    """
    person = desk_person(by)
    row = locked(TabletEntry.objects.filter(pk=pk)).get()
    if row.state != EntryState.REVIEW:
        raise Refused(_("This entry was dealt with a moment ago."))
    reason = data.reason.strip()[:LONGEST_REASON]
    if data.is_taken:
        row.row = _taken_in(row, data, wanted, by=replace(by, at=row.happened_at, received_at=by.at))
    elif not reason:
        raise BadInput("reason", data.reason, _("why it does not go into the books"))
    row.state = EntryState.TAKEN if data.is_taken else EntryState.SET_ASIDE
    row.settled_by, row.settled_at, row.settled_reason = person, by.at, reason
    row.save()
    verb = "take entry in" if data.is_taken else "set entry aside"
    work_order = row.job.work_order if row.job is not None else None
    activity.record([Entry(verb=verb, record=row, work_order=work_order)], by=by)
    return row


def _taken_in(row: TabletEntry, data: SettleInput, wanted: Wanted, *, by: Actor) -> str:
    if wanted.deed is None or isinstance(wanted.deed, UndoInput | ClockOnInput | ClockOffInput):
        raise Refused(_("This entry can't be taken in as it stands. Log it by hand, then set it aside."))
    deed = wanted.deed
    if isinstance(deed, LogTimeInput):
        worker = row.person_id or data.person
        if worker is None:
            raise BadInput("person", "", _("whose hours these are"))
        deed = replace(deed, person=worker)
    if isinstance(deed, DockAnswerInput):
        deed = replace(deed, witness=row.person_id, tablet=row.device.name)
    return do_deed(deed, row.job_id, by=by)


@transaction.atomic
def accept_gap(device_pk: int, *, by: Actor) -> Device:
    """The desk knows of the numbers that are missing at a tablet now; only new gaps are told from here on.

    Locks the tablet, last the chain head. A second sender changes nothing. If the power fails, all of it or
    nothing. What comes late all the same is taken as ever.
    """
    desk_person(by)
    device = locked(Device.objects.filter(pk=device_pk)).get()
    missing = device.last_sequence - device.sequences_here
    if device.gaps_known == missing:
        return device
    device.gaps_known = missing
    device.save(update_fields=["gaps_known"])
    facts: Payload = {"tablet": device.name, "missing": missing}
    activity.record([Entry(verb="accept gap", record=device, facts=facts)], by=by)
    return device
