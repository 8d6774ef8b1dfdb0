"""The page on which the options of a job are compared: what is assumed of each, and what comes of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from shopapp.calc.totals import Totals
from shopapp.models import QuoteChoice, QuoteOption, RepairKind, RevisionState, Shop, Way
from shopapp.queries.economics import Question
from shopapp.queries.quote_facts import family_of, sum_facts
from shopapp.queries.repair_pages import record_key
from shopapp.queries.repair_records import RepairRecord, Wanted, repair_records
from shopapp.queries.shop import local_day, the_shop
from shopapp.queries.shown import money_words, revision_rows, totals_by_option
from shopapp.queries.shown_words import days_words, warranty_words
from shopapp.queries.starting_chances import starting_chances


@dataclass(frozen=True, kw_only=True)
class ComparedOption:
    """An option as its column is headed; the row itself for the form.

    ``record_key`` opens the record, empty while it holds nothing; ``speaks``: whether it has enough repairs
    to be told instead of a judgement.
    """

    row: QuoteOption
    record: RepairRecord | None
    record_key: str
    speaks: bool
    price: str
    days: str
    warranty: str
    is_leave: bool
    is_replacing: bool


@dataclass(frozen=True, kw_only=True)
class ComparePage:
    """Everything the page shows besides its form. ``chances``: of 10,000, by kind of repair."""

    question: Question
    number: str
    is_draft: bool
    complaint: str
    currency: str
    locale: str
    options: tuple[ComparedOption, ...]
    chances: Mapping[RepairKind, int]
    free_ways: tuple[Way, ...]


def compare_page(choice: QuoteChoice, *, at: datetime, reads_record: bool = True) -> ComparePage:
    """The page of a question; ten queries at most, whatever its size; two fewer without the shop's record."""
    revision = revision_rows(choice.revision_id)
    row = next(one for one in revision.choices.all() if one.pk == choice.pk)
    shop = the_shop()
    day = local_day(shop, at)
    records = _records(row, shop=shop, at=at) if reads_record else {}
    says = {str(pk): record.says for pk, record in records.items()}
    facts = sum_facts(revision, shop=shop, day=day, records=says)
    totals = totals_by_option(row, revision=revision, facts=facts)
    offered = {option.way for option in row.options.all()}
    return ComparePage(
        question=Question(choice=row, revision=revision, totals=totals, facts=facts, day=day),
        number=revision.quote.number,
        is_draft=revision.state == RevisionState.DRAFT,
        complaint=row.job.complaint,
        currency=shop.currency,
        locale=shop.locale,
        options=tuple(
            _option(option, record=records.get(option.pk), totals=totals[option.pk], facts=facts)
            for option in _in_order(row)
        ),
        chances=starting_chances(shop),
        free_ways=tuple(way for way in Way if way not in offered),
    )


def _records(choice: QuoteChoice, *, shop: Shop, at: datetime) -> Mapping[int, RepairRecord]:
    """The shop's own record of each option's way on the engine of the job. Two queries."""
    family = family_of(choice.job)
    wanted = {option.pk: Wanted(way=option.way, family=family) for option in choice.options.all()}
    records = repair_records(set(wanted.values()), shop=shop, at=at)
    return {pk: records[one] for pk, one in wanted.items()}


def is_compared(revision_pk: int) -> bool:
    """Whether it is said of any option of a revision how long it holds. One query."""
    options = QuoteOption.objects.filter(choice__revision=revision_pk, chance_e4__isnull=False)
    return options.exists()


def trying(
    question: Question, *, terms: Mapping[str, Any], lives: Mapping[int, Mapping[str, Any]]
) -> Question:
    """The question with these columns (of options by id) in its rows, which are written nowhere."""
    _try(question.choice, terms)
    for option in question.choice.options.all():
        _try(option, lives.get(option.pk, {}))
    return question


def _try(row: QuoteChoice | QuoteOption, values: Mapping[str, Any]) -> None:
    for name, value in values.items():
        setattr(row, name, value)


def _in_order(choice: QuoteChoice) -> list[QuoteOption]:
    return sorted(choice.options.all(), key=lambda option: option.way == Way.LEAVE)


def _option(
    option: QuoteOption, *, record: RepairRecord | None, totals: Totals, facts: dict[str, Any]
) -> ComparedOption:
    return ComparedOption(
        row=option,
        record=record,
        record_key=_key(record),
        speaks=record is not None and record.speaks(),
        price=money_words(totals.with_tax, facts=facts),
        days=days_words(option.days),
        warranty=warranty_words(option.warranty_months, option.warranty_covers),
        is_leave=option.way == Way.LEAVE,
        is_replacing=option.way == Way.REPLACE,
    )


def _key(record: RepairRecord | None) -> str:
    if record is None or not record.repairs:
        return ""
    return record_key(Wanted(way=record.way, family=record.family))
