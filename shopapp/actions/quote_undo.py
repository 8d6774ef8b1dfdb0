"""Puts back what was taken out of a draft, while the draft lasts."""

from collections.abc import Mapping

from django.db import models, transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from shopapp.actions.actor import Actor
from shopapp.actions.quote_drafts import lock_draft, record_change, still_there
from shopapp.actions.quote_jobs import require_fitting, require_place
from shopapp.actions.quote_terms import follow_minimum_charge
from shopapp.actions.refusals import Refused
from shopapp.models import QuoteChoice, QuoteLine, QuoteOption, QuoteRevision, Removed

TABLES: Mapping[str, type[models.Model]] = {
    "quotechoice": QuoteChoice,
    "quoteoption": QuoteOption,
    "quoteline": QuoteLine,
}


@transaction.atomic
def put_back(removed_pk: int, *, by: Actor) -> QuoteRevision:
    """Put what was taken out of a draft back as it was; returns the revision.

    Locks the work order, the revision, last the chain head; a second sender is refused: it is back already.
    If the power fails, either all of it is back and recorded, or nothing is. Refused once the quote was
    sent, and when its place is gone or taken.
    """
    revision_pk = Removed.objects.filter(pk=removed_pk).values_list("revision_id", flat=True).first()
    revision = lock_draft(revision_pk, by=by)
    removed = still_there(Removed.objects.filter(pk=removed_pk).first())
    rows = [TABLES[one["table"]](**one["values"]) for one in removed.rows]
    _make_room(rows[0], revision=revision)
    for row in rows:
        row.save(force_insert=True)
    if isinstance(rows[0], QuoteLine):
        follow_minimum_charge(QuoteOption.objects.get(pk=rows[0].option_id), by=by)
    removed.delete()
    record_change("put back", revision, revision=revision, by=by, facts={"what": removed.what})
    return revision


def _make_room(row: models.Model, *, revision: QuoteRevision) -> None:
    """Refused when the row has no place any more; it goes to the end when its place is taken."""
    if isinstance(row, QuoteChoice):
        quote = revision.quote
        require_fitting(quote.work_order, [row.job_id], is_supplement=quote.is_supplement)
    elif isinstance(row, QuoteOption):
        choice = _parent(QuoteChoice.objects.filter(pk=row.choice_id).first())
        require_place(choice, row.way)
        row.position = _free_position(choice.options.all(), wanted=row.position)
        # what it was followed by may be gone meanwhile
        if row.follows_id not in set(choice.options.values_list("pk", flat=True)):
            row.follows_id = None
    elif isinstance(row, QuoteLine):
        option = _parent(QuoteOption.objects.filter(pk=row.option_id).first())
        if row.is_minimum_charge and option.lines.filter(is_minimum_charge=True).exists():
            raise Refused(_("The minimum charge stands in this option already."))
        row.position = _free_position(option.lines.all(), wanted=row.position)


def _parent[Row: models.Model](row: Row | None) -> Row:
    if row is None:
        raise Refused(_("What it belonged to is gone. Put that back first."))
    return row


def _free_position(rows: "models.QuerySet[QuoteOption] | models.QuerySet[QuoteLine]", *, wanted: int) -> int:
    if not rows.filter(position=wanted).exists():
        return wanted
    last: int = rows.aggregate(last=Max("position"))["last"]
    return last + 1
