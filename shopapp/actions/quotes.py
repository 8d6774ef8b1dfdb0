"""Quotes: begun, filled with options and lines, sent, revised. What was sent never changes."""

from collections.abc import Collection
from decimal import Decimal

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from shopapp.actions import activity, versions
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.links import revoke_links
from shopapp.actions.quote_drafts import (
    LineInput,
    OptionInput,
    keep_removed,
    line_values,
    lock_draft,
    lock_revision,
    option_values,
    record_change,
    require_version,
    revision_of,
    still_there,
    with_known_cost,
)
from shopapp.actions.quote_jobs import (
    begin_quote,
    jobs_to_ask,
    new_option,
    open_draft,
    require_fitting,
    require_place,
    require_still_fitting,
)
from shopapp.actions.quote_terms import follow_minimum_charge
from shopapp.actions.refusals import Refused, Stale
from shopapp.actions.rights import desk_person
from shopapp.actions.stages import TAKEN_BACK, lock_work_order, move_job
from shopapp.documents.canonical import canonical, digest
from shopapp.models import (
    Quote,
    QuoteChoice,
    QuoteLine,
    QuoteOption,
    QuoteRevision,
    RevisionState,
    Stage,
    Way,
)
from shopapp.queries.frozen_sums import options_in
from shopapp.queries.shown import Content, draft_content, revision_rows

MOST_LINES = 200


@transaction.atomic
def start_quote(work_order_pk: int, *, by: Actor, jobs: Collection[int] | None = None) -> QuoteRevision:
    """A draft that asks about these jobs; without jobs the draft that is there, or one about all open jobs.

    Several quotes of a visit may be out at once, each about other jobs. Locks the work order, the number
    series, last the chain head; so a second sender gets the same draft and no number is used up. If the
    power fails, either the whole draft is there or nothing, its number unused. Refused when no job is left
    to ask about, and for a job that is agreed, closed, or in another quote that is open.
    """
    desk_person(by)
    work_order = lock_work_order(work_order_pk)
    draft = open_draft(work_order, is_supplement=False, jobs=jobs)
    if draft is not None:
        return draft
    asked = jobs_to_ask(work_order) if jobs is None else require_fitting(work_order, jobs)
    if not asked:
        raise Refused(_("Every job of this visit is with the customer, agreed or closed already."))
    return begin_quote(work_order, asked, by=by)


@transaction.atomic
def add_option(choice_pk: int, data: OptionInput, *, by: Actor) -> QuoteOption:
    """One more way of putting the job right: at most three, and "leave it" beside them.

    Locks the work order, the revision, last the chain head; of two senders of the last free place the
    second is refused. If the power fails, either the option and its record are there or nothing.
    """
    revision = lock_draft(revision_of(QuoteChoice, choice_pk), by=by)
    choice = still_there(QuoteChoice.objects.filter(pk=choice_pk).first())
    require_place(choice, data.way)
    option = new_option(choice, data)
    record_change("add option", option, revision=revision, by=by, facts={"title": option.title})
    return option


@transaction.atomic
def edit_option(option_pk: int, data: OptionInput, *, version: int, by: Actor) -> QuoteOption:
    """Write the words of an option if nobody else did since ``version``.

    Locks the work order, the revision, last the chain head. A second sender with the same version gets
    Stale and writes nothing. If the power fails, all of it is there or nothing.
    """
    revision = lock_draft(revision_of(QuoteOption, option_pk), by=by)
    option = still_there(QuoteOption.objects.select_related("choice").filter(pk=option_pk).first())
    require_place(option.choice, data.way, but=option)
    saved = versions.save_edit(option, version=version, changes=option_values(data))
    record_change("edit option", saved, revision=revision, by=by, facts={"title": saved.title})
    return saved


@transaction.atomic
def remove_option(option_pk: int, *, version: int, by: Actor) -> QuoteRevision:
    """Take an option and its lines out of a draft if nobody wrote its words since ``version``.

    Returns the revision. Locks the work order, the revision, last the chain head; a second sender is
    refused, one who saw an older version gets Stale. If the power fails, either all of it is gone and
    recorded, or nothing is.
    """
    revision = lock_draft(revision_of(QuoteOption, option_pk), by=by)
    option = still_there(QuoteOption.objects.filter(pk=option_pk).first())
    require_version(option, version)
    title, name = option.title, activity.reference(option)
    keep_removed(option, what=title, revision=revision, by=by)
    option.delete()
    record_change("remove option", revision, revision=revision, by=by, facts={"title": title, "option": name})
    return revision


@transaction.atomic
def add_line(option_pk: int, data: LineInput, *, by: Actor) -> QuoteLine:
    """A planned line at the end of an option; its tax code follows from its kind.

    A part of the shop's list brings its cost along, whoever writes the line.

    Locks the work order, the revision, last the chain head; two senders both get their line, one after the
    other. If the power fails, either the line and its record are there or nothing.
    """
    revision = lock_draft(revision_of(QuoteOption, option_pk), by=by)
    option = still_there(QuoteOption.objects.filter(pk=option_pk).first())
    if option.lines.count() >= MOST_LINES:
        raise Refused(_("An option has at most 200 lines. Put some of them together."))
    last = option.lines.aggregate(last=Max("position"))["last"] or 0
    values = with_known_cost(line_values(data, by=by))
    line = QuoteLine.objects.create(option=option, position=last + 1, **values)
    follow_minimum_charge(option, by=by)
    record_change("add line", line, revision=revision, by=by, facts={"description": line.description})
    return line


@transaction.atomic
def edit_line(line_pk: int, data: LineInput, *, version: int, by: Actor) -> QuoteLine:
    """Write a line if nobody else did since ``version``; its cost only when the owner writes it.

    Locks the work order, the revision, last the chain head. A second sender with the same version gets
    Stale and writes nothing. If the power fails, all of it is there or nothing.
    """
    revision = lock_draft(revision_of(QuoteLine, line_pk), by=by)
    line = still_there(QuoteLine.objects.select_related("option").filter(pk=line_pk).first())
    if line.is_minimum_charge:
        raise Refused(_("The minimum charge follows from the other lines. Remove it to leave it out."))
    saved = versions.save_edit(line, version=version, changes=line_values(data, by=by))
    follow_minimum_charge(line.option, by=by)
    record_change("edit line", saved, revision=revision, by=by, facts={"description": saved.description})
    return saved


@transaction.atomic
def remove_line(line_pk: int, *, version: int, by: Actor) -> QuoteOption:
    """Take a line out of a draft if nobody wrote it since ``version``; returns its option.

    Locks the work order, the revision, last the chain head; a second sender is refused, one who saw an
    older version gets Stale. If the power fails, either the line is gone and that is recorded, or nothing is.
    """
    revision = lock_draft(revision_of(QuoteLine, line_pk), by=by)
    line = still_there(QuoteLine.objects.select_related("option__choice").filter(pk=line_pk).first())
    require_version(line, version)
    description, option = line.description, line.option
    keep_removed(line, what=description, revision=revision, by=by)
    line.delete()
    follow_minimum_charge(option, by=by)
    record_change("remove line", option, revision=revision, by=by, facts={"description": description})
    return option


@transaction.atomic
def send_quote(revision_pk: int, *, version: int, by: Actor, seen_sha256: str = "") -> QuoteRevision:
    """Freeze a draft as the customer sees it; its jobs are with the customer from now on.

    A supplement moves no job: the work that was agreed goes on while the customer thinks about the rest.

    ``seen_sha256`` is the hash of the preview that the sender looked at: if a line was changed since, the
    sender gets Stale and nothing is sent. Locks the work order, the revision, last the chain head. A second
    sender is refused or gets Stale. If the power fails, either the quote is sent whole (shown content
    stored, jobs moved) or it is still a draft.
    """
    draft = lock_draft(revision_pk, by=by)
    sent, entries = freeze(draft, version=version, by=by, seen_sha256=seen_sha256)
    activity.record(entries, by=by)
    return sent


def freeze(
    draft: QuoteRevision, *, version: int, by: Actor, seen_sha256: str = "", moves_jobs: bool = True
) -> tuple[QuoteRevision, list[Entry]]:
    """Freeze a (locked) draft as the customer sees it; returns it, sent, and what to record.

    A supplement asks beside what was agreed, so it moves no job; nor does a quote whose answer is there
    already. Raises Refused, Stale.
    """
    revision = revision_rows(draft.pk)
    content = draft_content(revision, at=by.at)
    if moves_jobs:
        require_still_fitting(draft)
    _require_sendable(revision, content)
    text = canonical(content)
    if seen_sha256 and seen_sha256 != digest(text):
        raise Stale(draft)
    changes = {
        "state": RevisionState.SENT,
        "sent_at": by.at,
        "tax_date": content["date"],
        "valid_until_date": content["valid_until"],
        "shown": text,
        "shown_sha256": digest(text),
    }
    sent = versions.save_edit(draft, version=version, changes=changes)
    verb = "send supplement" if draft.quote.is_supplement else "send quote"
    facts = {"shown": sent.shown_sha256}
    entry = Entry(verb=verb, record=sent, facts=facts, work_order=draft.quote.work_order)
    moves = _moves(revision, Stage.WITH_CUSTOMER, quote=draft.quote) if moves_jobs else []
    return sent, [entry, *moves]


def _moves(rows: QuoteRevision, to: Stage, *, quote: Quote, why: str = "") -> list[Entry]:
    """The jobs of a quote on their way; those of a supplement are agreed already and stay where they are."""
    if quote.is_supplement:
        return []
    return [move_job(choice.job, to, work_order=quote.work_order, why=why) for choice in rows.choices.all()]


def _require_sendable(revision: QuoteRevision, content: Content) -> None:
    shown = {option["option"]: option for option in options_in(content)}
    for choice in revision.choices.all():
        if not choice.options.all():
            raise Refused(_("“%s” has no option yet. Add one, then send.") % choice.job.complaint[:80])
        for option in choice.options.all():
            _require_complete(option, worth=_worth_something(shown[option.pk]))


def _require_complete(option: QuoteOption, *, worth: bool) -> None:
    if not option.title.strip():
        raise Refused(_("An option has no title yet. Write one, then send."))
    if option.way == Way.LEAVE:
        return
    if not option.lines.all():
        raise Refused(_("“%s” has no lines yet. Add what it takes, then send.") % option.title)
    if not worth:
        raise Refused(_("“%s” comes to nothing. Write its prices, then send.") % option.title)


def _worth_something(option: Content) -> bool:
    """Whether anybody pays anything: a repair the shop gives away has prices, a forgotten price has none."""
    return any(Decimal(line["unit_price"]) > 0 and Decimal(line["discount"]) < 1 for line in option["lines"])


@transaction.atomic
def discard_quote(revision_pk: int, *, version: int, by: Actor) -> QuoteRevision:
    """Throw a draft away if nobody changed it since ``version``; new quotes may ask about its jobs.

    It stays to be read, under its number, and is never sent. One that was taken back to be revised stays
    taken back. Locks the work order, the revision, last the chain head; a second sender is refused. If the
    power fails, either it is thrown away and that is recorded, or it is still a draft.
    """
    draft = lock_draft(revision_pk, by=by)
    discarded = versions.save_edit(draft, version=version, changes={"state": RevisionState.DISCARDED})
    record_change("discard quote", discarded, revision=draft, by=by, facts={})
    return discarded


@transaction.atomic
def revise_quote(revision_pk: int, *, by: Actor) -> QuoteRevision:
    """Take a sent quote back from the customer; returns its next revision, a draft with all it held.

    The one way back: the elder revision is replaced and its links are shut, so it can't be answered while
    the new one is written; its jobs go back to diagnosis, where their findings may be written again. Those
    of a supplement stay where the work is.
    Locks the work order, the revision, last the chain head; a second sender gets the draft that is there
    already. If the power fails, either all of this is there or nothing. Refused once the customer answered,
    and for a revision that a newer one replaced.
    """
    desk_person(by)
    old = lock_revision(revision_pk)
    draft = old.quote.revisions.filter(state=RevisionState.DRAFT).first()
    if draft is not None:
        return draft
    _require_with_customer(old)
    new = QuoteRevision.objects.create(
        quote=old.quote,
        revision=old.revision + 1,
        created_at=by.at,
        discount_e4=old.discount_e4,
        discount_reason=old.discount_reason,
    )
    rows = revision_rows(revision_pk)
    for choice in rows.choices.all():
        _copy_choice(choice, to=new)
    moves = _take_back(rows, quote=old.quote, by=by)
    facts: Payload = {"quote": f"{old.quote} revision {new.revision}", "from": old.revision}
    entry = Entry(verb="revise quote", record=new, facts=facts, work_order=old.quote.work_order)
    activity.record([entry, *moves], by=by)
    return new


def _require_with_customer(revision: QuoteRevision) -> None:
    if revision.state == RevisionState.DECIDED:
        raise Refused(_("The customer has answered this quote; what was agreed stays as it is."))
    if revision.state == RevisionState.REPLACED:
        raise Refused(_("This revision was replaced by a newer one. Open the newer one and revise that."))
    if revision.state == RevisionState.DISCARDED:
        raise Refused(_("This draft was thrown away. Write a new quote."))


def _take_back(rows: QuoteRevision, *, quote: Quote, by: Actor) -> list[Entry]:
    QuoteRevision.objects.filter(pk=rows.pk).update(state=RevisionState.REPLACED)
    revoke_links([rows.pk], by=by)
    return _moves(rows, Stage.DIAGNOSIS, quote=quote, why=TAKEN_BACK)


def _copy_choice(choice: QuoteChoice, *, to: QuoteRevision) -> None:
    options, lines = list(choice.options.all()), []
    new_choice = _fresh(choice)
    new_choice.revision = to
    new_choice.save(force_insert=True)
    copies: dict[int | None, QuoteOption] = {}
    for option in options:
        old_lines = list(option.lines.all())
        copies[option.pk] = new_option = _fresh(option)
        new_option.choice, new_option.follows = new_choice, None
        new_option.save(force_insert=True)
        for line in old_lines:
            new_line = _fresh(line)
            new_line.option = new_option
            lines.append(new_line)
    QuoteLine.objects.bulk_create(lines)
    for option in options:
        if option.follows_id in copies:
            copies[option.pk].follows = copies[option.follows_id]
            copies[option.pk].save(update_fields=["follows"])


def _fresh[Row: QuoteChoice | QuoteOption | QuoteLine](row: Row) -> Row:
    """The row's values in a row that is not in the database yet."""
    values = {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}
    return type(row)(**values | {"id": None, "version": 1})
