"""What tablets sent that the desk has to look at, one by one, and the numbers that are missing."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from shopapp.models import EntryState, TabletEntry
from shopapp.queries.entries import missing_of, with_gaps
from shopapp.queries.entry_texts import read_entry
from shopapp.queries.entry_words import field_words, kind_words
from shopapp.queries.people import Colleague, technicians
from shopapp.queries.vessels import boat_words

ROWS_SHOWN, SETTLED_SHOWN, GAPS_SHOWN, NUMBERS_READ = 50, 20, 20, 100_000
LONGEST_SHOWN, STRETCHES_SHOWN = 500, 10
# the others can't be logged anew from their words alone; a clock is put right on the time sheet
TAKEN_KINDS = frozenset({"part", "planned", "time", "fluid", "note", "reading", "test", "signature"})


@dataclass(frozen=True, kw_only=True)
class ReviewRow:
    """One entry ready to show; ``person`` is empty where it is not sure who wrote it."""

    pk: int
    kind: str
    fields: tuple[tuple[str, str], ...]
    text: str
    reason: str
    person: str
    tablet: str
    happened_at: datetime
    received_at: datetime
    work_order_pk: int | None
    work_order: str
    job: str
    state: str
    settled_by: str
    settled_at: datetime | None
    settled_reason: str
    asks_who: bool
    may_take: bool


@dataclass(frozen=True, kw_only=True)
class Gap:
    """Entries of a tablet that have not come, by their numbers."""

    device_pk: int
    tablet: str
    is_ended: bool
    count: int
    numbers: str


@dataclass(frozen=True, kw_only=True)
class ReviewPage:
    """What waits, how many there are, what was dealt with lately, and what is missing."""

    waiting: tuple[ReviewRow, ...]
    count: int
    settled: tuple[ReviewRow, ...]
    gaps: tuple[Gap, ...]
    people: tuple[Colleague, ...]


def review_page() -> ReviewPage:
    """Six queries, five where no number is missing."""
    waiting = TabletEntry.objects.filter(state=EntryState.REVIEW)
    done = TabletEntry.objects.filter(state__in=(EntryState.TAKEN, EntryState.SET_ASIDE))
    return ReviewPage(
        waiting=_rows(waiting.order_by("happened_at", "pk")[:ROWS_SHOWN]),
        count=waiting.count(),
        settled=_rows(done.order_by("-settled_at", "-pk")[:SETTLED_SHOWN]),
        gaps=_gaps(),
        people=technicians(),
    )


def _rows(rows: QuerySet[TabletEntry]) -> tuple[ReviewRow, ...]:
    named = rows.select_related("person", "device", "job__work_order__vessel", "settled_by")
    return tuple(_row(row) for row in named)


def _row(row: TabletEntry) -> ReviewRow:
    written, visit = read_entry(row.text), row.job.work_order if row.job is not None else None
    return ReviewRow(
        pk=row.pk,
        kind=kind_words(row.kind),
        fields=field_words(written.content) if written is not None else (),
        # what can't be read is shown as it came
        text=row.text[:LONGEST_SHOWN] if written is None else "",
        reason=row.reason,
        person=row.person.name if row.person is not None else "",
        tablet=row.device.name,
        happened_at=row.happened_at,
        received_at=row.received_at,
        work_order_pk=visit.pk if visit is not None else None,
        work_order=f"{visit.number} {boat_words(visit.vessel)}" if visit is not None else "",
        job=row.job.complaint if row.job is not None else "",
        state=str(EntryState(row.state).label),
        settled_by=row.settled_by.name if row.settled_by is not None else "",
        settled_at=row.settled_at,
        settled_reason=row.settled_reason,
        asks_who=row.kind == "time" and row.person is None,
        may_take=row.kind in TAKEN_KINDS and row.job is not None,
    )


def _gaps() -> tuple[Gap, ...]:
    tablets = list(with_gaps().order_by("name", "pk")[:GAPS_SHOWN])
    if not tablets:
        return ()
    numbers: dict[int, list[int]] = defaultdict(list)
    came = TabletEntry.objects.filter(device__in=tablets, sequence__isnull=False)
    for device, sequence in came.values_list("device", "sequence")[:NUMBERS_READ]:
        numbers[device].append(sequence or 0)
    return tuple(
        Gap(
            device_pk=tablet.pk,
            tablet=tablet.name,
            is_ended=tablet.ended_at is not None,
            count=tablet.last_sequence - tablet.sequences_here,
            numbers=_in_words(missing_of(numbers[tablet.pk])),
        )
        for tablet in tablets
    )


def _in_words(gaps: Iterable[tuple[int, int]]) -> str:
    """3, 7–9: at most ten stretches."""
    told = [str(first) if first == last else f"{first}–{last}" for first, last in gaps]
    return ", ".join(told[:STRETCHES_SHOWN]) + ("…" if len(told) > STRETCHES_SHOWN else "")
