"""Quotes are written, sent once as they were seen, and revised."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from django.db import DatabaseError, transaction

from shopapp.actions import quotes
from shopapp.actions.actor import Actor
from shopapp.actions.quote_drafts import LineInput, OptionInput
from shopapp.actions.refusals import NotAllowed, Refused, Stale
from shopapp.models import (
    Activity,
    Job,
    KindTax,
    LineKind,
    NumberSeries,
    Payer,
    Person,
    QuoteLine,
    QuoteOption,
    QuoteRevision,
    RevisionState,
    Stage,
    Unit,
    Way,
    WorkOrder,
)
from tests.factories import JobFactory, WorkOrderFactory
from tests.factories.quotes import (
    LABOUR,
    SEAL,
    SEALS,
    SHAFT,
    answered,
    desk,
    draft_quote,
    sent_quote,
)

pytestmark = pytest.mark.django_db

Acting = Callable[[Person], Actor]


def first_option(revision: QuoteRevision) -> QuoteOption:
    return QuoteOption.objects.get(choice__revision=revision, position=1)


def test_start_quote_asks_about_each_job(ilse: Person, by: Acting) -> None:
    visit = WorkOrderFactory()
    jobs = [JobFactory(work_order=visit), JobFactory(work_order=visit, position=2)]

    revision = quotes.start_quote(visit.pk, by=by(ilse))

    choices = revision.choices.order_by("position")
    assert [choice.job for choice in choices] == jobs
    assert [(o.way, o.title, o.lines.count()) for c in choices for o in c.options.all()] == [
        ("mend", "Mend the part", 0),
        ("mend", "Mend the part", 0),
    ]


def test_start_quote_gives_second_sender_the_draft(ilse: Person, maren: Person, by: Acting) -> None:
    visit = JobFactory().work_order
    first = quotes.start_quote(visit.pk, by=by(ilse))

    second = quotes.start_quote(visit.pk, by=by(maren))

    assert second == first
    assert NumberSeries.objects.get(code="quote").next_value == 2


def test_start_quote_refuses_when_all_is_asked(ilse: Person, by: Acting, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)

    with pytest.raises(Refused, match="with the customer, agreed or closed"):
        quotes.start_quote(sent.quote.work_order_id, by=by(ilse))


def test_start_quote_leaves_agreed_jobs_alone(ilse: Person, by: Acting, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    answered(sent, ilse, at=now)
    found_since = JobFactory(work_order=sent.quote.work_order, position=2, stage=Stage.DIAGNOSIS)

    revision = quotes.start_quote(sent.quote.work_order_id, by=by(ilse))

    assert [choice.job for choice in revision.choices.all()] == [found_since]


def test_start_quote_is_not_the_technicians(tobiah: Person, by: Acting) -> None:
    visit = JobFactory(technician=tobiah).work_order

    with pytest.raises(NotAllowed, match="front desk and the owner"):
        quotes.start_quote(visit.pk, by=by(tobiah))


def test_add_option_refuses_the_fourth(ilse: Person, by: Acting, now: datetime) -> None:
    choice = draft_quote(ilse, at=now).choices.get()
    quotes.add_option(choice.pk, replace(SHAFT, way=Way.USED), by=by(ilse))

    with pytest.raises(Refused, match="at most three"):
        quotes.add_option(choice.pk, SHAFT, by=by(ilse))

    assert list(choice.options.order_by("position").values_list("position", flat=True)) == [1, 2, 3]


def test_edit_option_of_old_version_is_told_t22(
    ilse: Person, maren: Person, by: Acting, now: datetime
) -> None:
    option = first_option(draft_quote(ilse, at=now))
    quotes.edit_option(option.pk, replace(SEALS, title="Seals, Maren"), version=2, by=by(maren))

    with pytest.raises(Stale) as refusal:
        quotes.edit_option(option.pk, replace(SEALS, title="Seals, Ilse"), version=2, by=by(ilse))

    assert refusal.value.record.title == "Seals, Maren"
    assert first_option(option.choice.revision).title == "Seals, Maren"


def test_remove_option_takes_its_lines_along(ilse: Person, by: Acting, now: datetime) -> None:
    revision = draft_quote(ilse, at=now)

    quotes.remove_option(first_option(revision).pk, version=2, by=by(ilse))

    assert [line.option.title for line in QuoteLine.objects.all()] == ["New shaft and seals"]


def test_option_can_come_after_a_removal(ilse: Person, by: Acting, now: datetime) -> None:
    revision = draft_quote(ilse, at=now)
    quotes.remove_option(first_option(revision).pk, version=2, by=by(ilse))

    added = quotes.add_option(revision.choices.get().pk, SEALS, by=by(ilse))

    assert added.position == 3


@pytest.mark.parametrize("kind", LineKind.values)
def test_add_line_takes_tax_of_its_kind(ilse: Person, by: Acting, now: datetime, kind: str) -> None:
    option = first_option(draft_quote(ilse, at=now))

    line = quotes.add_line(option.pk, replace(LABOUR, kind=LineKind(kind)), by=by(ilse))

    assert line.tax_code_id == KindTax.objects.get(kind=kind).tax_code_id


def test_add_line_keeps_exact_figures(maren: Person, by: Acting, now: datetime) -> None:
    option = first_option(draft_quote(maren, at=now))
    data = LineInput(
        kind=LineKind.FLUID,
        description="Gear oil",
        quantity=Decimal("0.375"),
        unit=Unit.LITRE,
        unit_price=Decimal("24.1234"),
        discount=Decimal("0.125"),
        payer=Payer.SHOP,
        unit_cost=Decimal("9.8765"),
    )

    line = quotes.add_line(option.pk, data, by=by(maren))

    figures = (line.quantity_milli, line.unit_price_e4, line.discount_e4, line.payer, line.unit_cost_e4)
    assert figures == (375, 241_234, 1250, "shop", 98_765)


def test_add_line_takes_no_cost_from_the_desk(ilse: Person, by: Acting, now: datetime) -> None:
    option = first_option(draft_quote(ilse, at=now))

    with pytest.raises(NotAllowed, match="owner sets costs"):
        quotes.add_line(option.pk, replace(SEAL, unit_cost=Decimal(1)), by=by(ilse))

    assert option.lines.count() == 3


def test_edit_line_by_the_desk_keeps_its_cost(ilse: Person, maren: Person, by: Acting, now: datetime) -> None:
    option = first_option(draft_quote(maren, at=now))
    line = quotes.add_line(option.pk, replace(SEAL, unit_cost=Decimal("9.10")), by=by(maren))

    saved = quotes.edit_line(line.pk, replace(SEAL, quantity=Decimal(3)), version=1, by=by(ilse))

    assert (saved.quantity_milli, saved.unit_cost_e4, saved.version) == (3000, 91_000, 2)


def test_edit_line_of_old_version_is_told_t22(ilse: Person, maren: Person, by: Acting, now: datetime) -> None:
    line = first_option(draft_quote(ilse, at=now)).lines.first()
    quotes.edit_line(line.pk, replace(LABOUR, quantity=Decimal(4)), version=1, by=by(maren))

    with pytest.raises(Stale):
        quotes.edit_line(line.pk, replace(LABOUR, quantity=Decimal(5)), version=1, by=by(ilse))

    assert QuoteLine.objects.get(pk=line.pk).quantity_milli == 4000


def test_remove_line_twice_is_refused(ilse: Person, by: Acting, now: datetime) -> None:
    line = first_option(draft_quote(ilse, at=now)).lines.first()
    quotes.remove_line(line.pk, version=1, by=by(ilse))

    with pytest.raises(Refused, match="removed this a moment ago"):
        quotes.remove_line(line.pk, version=1, by=by(ilse))


def test_remove_line_of_old_version_is_told_t22(
    ilse: Person, maren: Person, by: Acting, now: datetime
) -> None:
    line = first_option(draft_quote(ilse, at=now)).lines.first()
    quotes.edit_line(line.pk, replace(LABOUR, unit_price=Decimal(999)), version=1, by=by(maren))

    with pytest.raises(Stale) as refusal:
        quotes.remove_line(line.pk, version=1, by=by(ilse))

    assert refusal.value.record.unit_price_e4 == 9_990_000
    assert QuoteLine.objects.filter(pk=line.pk).exists()


def test_remove_option_of_old_version_is_told_t22(
    ilse: Person, maren: Person, by: Acting, now: datetime
) -> None:
    option = first_option(draft_quote(ilse, at=now))
    quotes.edit_option(option.pk, replace(SEALS, title="Seals, Maren"), version=2, by=by(maren))

    with pytest.raises(Stale):
        quotes.remove_option(option.pk, version=2, by=by(ilse))

    assert QuoteOption.objects.get(pk=option.pk).title == "Seals, Maren"


def test_send_quote_freezes_and_moves_on(ilse: Person, by: Acting) -> None:
    # 3 June in UTC, still 2 June where the shop is
    late = datetime(2026, 6, 3, 5, 0, tzinfo=UTC)

    sent = sent_quote(ilse, at=late)

    assert (sent.state, sent.sent_at, sent.tax_date) == ("sent", late, date(2026, 6, 2))
    assert sent.valid_until_date == date(2026, 7, 2)
    job = Job.objects.get()
    assert (job.stage, job.work_order.stage) == (Stage.WITH_CUSTOMER, Stage.WITH_CUSTOMER)


def draft_with(
    option: OptionInput, lines: list[LineInput], *, person: Person, now: datetime
) -> QuoteRevision:
    """A draft whose only option is this one."""
    revision = quotes.start_quote(JobFactory().work_order_id, by=desk(person, at=now))
    choice = revision.choices.get()
    quotes.remove_option(choice.options.get().pk, version=1, by=desk(person, at=now))
    added = quotes.add_option(choice.pk, option, by=desk(person, at=now))
    for line in lines:
        quotes.add_line(added.pk, line, by=desk(person, at=now))
    return revision


@pytest.mark.parametrize(
    ("lines", "sentence"),
    [
        ([], "has no lines yet"),
        ([replace(LABOUR, unit_price=Decimal(0))], "comes to nothing"),
        ([replace(LABOUR, discount=Decimal(1))], "comes to nothing"),
    ],
)
def test_send_quote_refuses_what_is_unfinished(
    ilse: Person, now: datetime, lines: list[LineInput], sentence: str
) -> None:
    draft = draft_with(SEALS, lines, person=ilse, now=now)

    with pytest.raises(Refused, match=sentence):
        quotes.send_quote(draft.pk, version=1, by=desk(ilse, at=now))

    assert QuoteRevision.objects.get().state == RevisionState.DRAFT


def test_send_quote_refuses_job_without_option(ilse: Person, by: Acting, now: datetime) -> None:
    draft = draft_quote(ilse, at=now)
    for option in QuoteOption.objects.all():
        quotes.remove_option(option.pk, version=option.version, by=by(ilse))

    with pytest.raises(Refused, match="has no option yet"):
        quotes.send_quote(draft.pk, version=1, by=by(ilse))


@pytest.mark.parametrize(
    ("way", "lines"),
    [(Way.LEAVE, []), (Way.MEND, [replace(LABOUR, payer=Payer.SHOP)])],
)
def test_send_quote_lets_gifts_and_leaving_through(
    ilse: Person, now: datetime, way: Way, lines: list[LineInput]
) -> None:
    draft = draft_with(replace(SEALS, way=way), lines, person=ilse, now=now)

    sent = quotes.send_quote(draft.pk, version=1, by=desk(ilse, at=now))

    assert json.loads(sent.shown)["jobs"][0]["options"][0]["totals"]["with_tax"] == "0.00"


def test_send_quote_twice_is_refused(ilse: Person, by: Acting, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)

    with pytest.raises(Refused, match="it stays as the customer saw it"):
        quotes.send_quote(sent.pk, version=1, by=by(ilse))


def test_send_quote_refuses_what_was_not_seen(ilse: Person, by: Acting, now: datetime) -> None:
    draft = draft_quote(ilse, at=now)

    with pytest.raises(Stale):
        quotes.send_quote(draft.pk, version=1, by=by(ilse), seen_sha256="0" * 64)

    assert QuoteRevision.objects.get().state == RevisionState.DRAFT


def test_sent_quote_refuses_every_change(ilse: Person, by: Acting, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    option, choice = first_option(sent), sent.choices.get()
    line = option.lines.first()
    changes = [
        lambda: quotes.add_option(choice.pk, SHAFT, by=by(ilse)),
        lambda: quotes.edit_option(option.pk, SEALS, version=2, by=by(ilse)),
        lambda: quotes.remove_option(option.pk, version=2, by=by(ilse)),
        lambda: quotes.add_line(option.pk, SEAL, by=by(ilse)),
        lambda: quotes.edit_line(line.pk, SEAL, version=1, by=by(ilse)),
        lambda: quotes.remove_line(line.pk, version=1, by=by(ilse)),
    ]

    for change in changes:
        with pytest.raises(Refused, match="it stays as the customer saw it"):
            change()


def test_database_itself_keeps_sent_lines(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)

    with pytest.raises(DatabaseError, match="a sent quote never changes"), transaction.atomic():
        QuoteLine.objects.filter(option__choice__revision=sent).update(unit_price_e4=1)


def test_quote_leaves_activity_without_costs(maren: Person, by: Acting, now: datetime) -> None:
    draft = draft_quote(maren, at=now)
    line = quotes.add_line(first_option(draft).pk, replace(SEAL, unit_cost=Decimal("7.7123")), by=by(maren))
    quotes.edit_line(line.pk, replace(SEAL, unit_cost=Decimal("7.7124")), version=1, by=by(maren))
    quotes.send_quote(draft.pk, version=1, by=by(maren))

    rows = Activity.objects.order_by("seq")

    assert [row.verb for row in rows][-3:] == ["edit line", "send quote", "move job"]
    assert [row.verb for row in rows if "7.712" in row.payload] == []
    assert {row.work_order for row in rows} == {WorkOrder.objects.get()}
