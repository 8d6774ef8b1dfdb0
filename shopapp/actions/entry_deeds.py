"""What an entry of a tablet does: each kind of input has its one action, and its way to be taken back."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from django.db.models import Model
from django.utils.translation import gettext as _

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import (
    LogFluidInput,
    LogTimeInput,
    UsePartInput,
    log_fluid,
    log_time,
    use_part,
)
from shopapp.actions.clocks import ClockOffInput, ClockOnInput, clock_off, clock_on
from shopapp.actions.corrections import strike_row
from shopapp.actions.dock_answers import DockAnswerInput, answer_at_dock
from shopapp.actions.fees import FeeInput, log_fee
from shopapp.actions.job_tests import RecordTestInput, record_test
from shopapp.actions.notes import NoteInput, strike_note, write_note
from shopapp.actions.photos import PhotoInput, add_photo
from shopapp.actions.readings import ReadingInput, log_reading, strike_reading
from shopapp.actions.refusals import Refused
from shopapp.actions.step_ticks import TickInput, strike_tick, tick_step
from shopapp.calc.errors import BadInput
from shopapp.models import LineKind, QuoteLine
from shopapp.queries.actual_rows import BOOK_OF, MODELS, key_of

NOTE, PHOTO, CLOCK, TEST, READING, TICK = "note", "photo", "clock", "test", "reading", "tick"
ANSWER = "answer"
BOOKS = {model: book for book, model in MODELS.items()}


@dataclass(frozen=True, kw_only=True)
class PlannedInput:
    """So much of a part or a fee was used as planned."""

    line: int
    quantity: Decimal


@dataclass(frozen=True, kw_only=True)
class UndoInput:
    """The entry that is taken back, by the id that the tablet gave it."""

    entry: UUID


type OfBook = UsePartInput | PlannedInput | LogTimeInput | LogFluidInput
type OfJob = OfBook | NoteInput | PhotoInput | RecordTestInput | ReadingInput | TickInput | DockAnswerInput
type OfClock = ClockOnInput | ClockOffInput
type Deed = OfJob | OfClock


# kind of input → the name of its rows, and the action that writes one; the actual book has its own way
BESIDE_THE_BOOK: Mapping[type, tuple[str, Callable[..., Model]]] = {
    NoteInput: (NOTE, write_note),
    PhotoInput: (PHOTO, add_photo),
    RecordTestInput: (TEST, record_test),
    ReadingInput: (READING, log_reading),
    TickInput: (TICK, tick_step),
    DockAnswerInput: (ANSWER, answer_at_dock),
}


def do_deed(deed: Deed, job_pk: int | None, *, by: Actor) -> str:
    """Do it, by the action of its kind, whose locks count; returns the name of the row, such as part_used-7.

    Only the clock runs without a job. Runs inside the transaction of whoever takes the entry. Raises what the
    action raises.
    """
    match deed:
        case ClockOnInput():
            return f"{CLOCK}-{clock_on(job_pk, deed, by=by).pk}"
        case ClockOffInput():
            return f"{CLOCK}-{clock_off(deed, by=by).pk}"
        case _ if job_pk is None:
            raise Refused(_("The job that it names is not there."))
    return _do_on_job(deed, job_pk, by=by)


def _do_on_job(deed: OfJob, job_pk: int, *, by: Actor) -> str:
    found = BESIDE_THE_BOOK.get(type(deed))
    if found is None:
        return _book(deed, job_pk, by=by)  # type: ignore[arg-type]  # what the table does not name
    name, action = found
    return f"{name}-{action(job_pk, deed, by=by).pk}"


def _book(deed: OfBook, job_pk: int, *, by: Actor) -> str:
    row: Model
    match deed:
        case UsePartInput():
            row = use_part(job_pk, deed, by=by)
        case PlannedInput():
            row = _use_planned(job_pk, deed, by=by)
        case LogTimeInput():
            row = log_time(job_pk, deed, by=by)
        case LogFluidInput():
            row = log_fluid(job_pk, deed, by=by)
    return f"{BOOKS[type(row)]}-{row.pk}"  # type: ignore[index]  # a row of the actual book


def _use_planned(job_pk: int, data: PlannedInput, *, by: Actor) -> Model:
    kind = QuoteLine.objects.filter(pk=data.line).values_list("kind", flat=True).first()
    if kind == LineKind.FEE:
        return log_fee(job_pk, FeeInput(quantity=data.quantity, line=data.line), by=by)
    if kind == LineKind.PART:
        return use_part(job_pk, UsePartInput(quantity=data.quantity, line=data.line), by=by)
    raise BadInput("line", data.line, _("a part or a fee of what was agreed"))


def take_back(row: str, *, by: Actor) -> None:
    """Strike out the row that an entry became; safe to repeat. Raises Refused where that can't be."""
    name, _dash, number = row.partition("-")
    if name == NOTE:
        strike_note(int(number), by=by)
        return
    if name == READING:
        strike_reading(int(number), reason=_("taken back at the tablet"), by=by)
        return
    if name == TICK:
        strike_tick(int(number), reason=_("taken back at the tablet"), by=by)
        return
    key = key_of(row)
    if key is None or name not in BOOK_OF.values():
        raise Refused(_("This can't be taken back at the tablet. Ask the desk."))
    strike_row(key, reason=_("taken back at the tablet"), by=by)
