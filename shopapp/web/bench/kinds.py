"""Which form reads which kind of entry, and what it makes of one that a tablet sent."""

from django.utils.translation import gettext as _

from shopapp.actions.entries import Wanted
from shopapp.calc.errors import BadInput
from shopapp.queries.entries import Written
from shopapp.web.bench.forms import (
    ClockOffForm,
    ClockOnForm,
    EntryForm,
    FluidForm,
    NoteForm,
    PartForm,
    PhotoForm,
    PlannedForm,
    TestForm,
    TimeForm,
    UndoForm,
)
from shopapp.web.bench.forms_dock import SignatureForm
from shopapp.web.bench.forms_readings import ReadingEntryForm
from shopapp.web.bench.forms_steps import TickForm
from shopapp.web.shared.refusals import first_problem

FORMS: tuple[type[EntryForm], ...] = (
    *(PartForm, PlannedForm, TimeForm, FluidForm, NoteForm, PhotoForm, UndoForm),
    *(ClockOnForm, ClockOffForm, TestForm, ReadingEntryForm, TickForm, SignatureForm),
)
KINDS: dict[str, type[EntryForm]] = {form.kind: form for form in FORMS}


def wanted_by(written: Written | None, *, locale: str) -> Wanted:
    """The deed that an entry wants done, or the first sentence of its form about what is wrong with it."""
    if written is None:
        return Wanted()
    form = form_of(written, locale=locale)
    if form is None:
        return Wanted(problem=_("This shop does not know what kind of entry “%s” is.") % written.kind[:20])
    if not form.is_valid():
        return Wanted(problem=first_problem(form))
    if written.kind == PhotoForm.kind:
        return Wanted(problem=_("This entry came without its picture."))
    try:
        return Wanted(deed=form.as_input())
    except BadInput as refusal:
        return Wanted(problem=refusal.sentence)


def form_of(written: Written, *, locale: str) -> EntryForm | None:
    """The form of its kind with what the tablet sent; none for a kind that is not known."""
    kind = KINDS.get(written.kind)
    return kind(written.content, locale=locale) if kind is not None else None
