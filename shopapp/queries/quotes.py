"""The page on which a quote is written. Costs and margins are on the owner's page; others get it without."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db.models import QuerySet

from shopapp import access
from shopapp.calc.money import from_e4, from_minor
from shopapp.calc.totals import Totals, line_amount
from shopapp.models import (
    Payer,
    Person,
    QuoteChoice,
    QuoteLine,
    QuoteOption,
    QuoteRevision,
    Removed,
    RevisionState,
    Shop,
    Way,
)
from shopapp.queries.economics import Economics, Question, economics_of
from shopapp.queries.frozen_sums import rules_from, treatments_from
from shopapp.queries.margins import Margin, margin_words
from shopapp.queries.quote_facts import Facts, facts_of
from shopapp.queries.shop import local_day, the_shop
from shopapp.queries.shown import (
    Content,
    condition_words,
    discount_map,
    money_words,
    quantity_words,
    revision_rows,
    share_words,
    totals_by_option,
    totals_map,
)
from shopapp.queries.shown_words import days_words, warranty_words
from shopapp.queries.vessels import boat_line

MOST_OPTIONS = 3
# how many things that were taken away can be put back
MOST_REMOVED = 10


@dataclass(frozen=True, kw_only=True)
class BuilderLine:
    """A planned line, ready to show. ``payer`` is empty when the customer pays."""

    pk: int
    version: int
    kind: str
    number: str
    description: str
    quantity: str
    unit_price: str
    discount: str
    payer: str
    amount: str
    condition: str
    is_minimum_charge: bool
    margin: Margin | None


@dataclass(frozen=True, kw_only=True)
class BuilderOption:
    """One option as a column of the page; "leave it" lies below the columns.

    ``minimum`` is the shop's minimum charge where the lines don't come to it and no line makes up for it.
    """

    pk: int
    way: str
    way_code: str
    title: str
    explanation: str
    left_out: str
    days: str
    warranty: str
    totals: Content
    lines: tuple[BuilderLine, ...]
    minimum: str
    margin: Margin | None


@dataclass(frozen=True, kw_only=True)
class BuilderJob:
    """The question about one job, with its options in the order in which they were added, "leave it" last.

    ``free_ways`` are the ways for which there is a place left.
    """

    choice: int
    complaint: str
    cause: str
    engine: str
    price_kind_code: str
    price_kind: str
    price_kind_says: str
    free_ways: tuple[str, ...]
    options: tuple[BuilderOption, ...]
    economics: Economics


@dataclass(frozen=True, kw_only=True)
class RemovedRow:
    """What somebody took out of the draft and may put back."""

    pk: int
    what: str


@dataclass(frozen=True, kw_only=True)
class BuilderPage:
    """The whole page; amounts are text in the shop's own way of writing.

    ``agreed`` is there for a supplement: what it adds to, and when that was agreed.
    """

    pk: int
    number: str
    revision: int
    version: int
    is_draft: bool
    work_order_pk: int
    work_order: str
    boat: str
    customer: str
    shows_costs: bool
    is_supplement: bool
    agreed: Content | None
    fee_says: str
    discount: Content
    jobs: tuple[BuilderJob, ...]
    removed: tuple[RemovedRow, ...]


def builder_page(revision_pk: int, *, viewer: Person, at: datetime) -> BuilderPage:
    """The page of a draft with taxes of the shop's day at that moment; eleven queries, whatever its size.

    For a supplement one more. Raises DoesNotExist.
    """
    revision = revision_rows(revision_pk)
    work_order = revision.quote.work_order
    shop = the_shop()
    day = local_day(shop, at)
    facts = facts_of(revision, shop=shop, day=day, at=at)
    return BuilderPage(
        pk=revision.pk,
        number=revision.quote.number,
        revision=revision.revision,
        version=revision.version,
        is_draft=revision.state == RevisionState.DRAFT,
        work_order_pk=work_order.pk,
        work_order=work_order.number,
        boat=boat_line(work_order.vessel),
        customer=work_order.customer.name,
        shows_costs=access.may_see_costs(viewer),
        is_supplement=revision.quote.is_supplement,
        agreed=facts["agreed"],
        fee_says=facts["diagnosis_fee"]["says_shown"] if facts["diagnosis_fee"] else "",
        discount=discount_map(revision, facts=facts),
        jobs=tuple(
            _job(choice, sums=_Sums(revision=revision, shop=shop, facts=facts, viewer=viewer), day=day)
            for choice in revision.choices.all()
        ),
        removed=tuple(RemovedRow(pk=row.pk, what=row.what) for row in _removed(revision)),
    )


def _removed(revision: QuoteRevision) -> "QuerySet[Removed]":
    return revision.removed.only("what").order_by("-removed_at", "-pk")[:MOST_REMOVED]


@dataclass(frozen=True, kw_only=True)
class _Sums:
    """What every sum of the page rests on, and who looks at it."""

    revision: QuoteRevision
    shop: Shop
    facts: Facts
    viewer: Person

    @property
    def shows_costs(self) -> bool:
        return access.may_see_costs(self.viewer)


def _job(choice: QuoteChoice, *, sums: _Sums, day: date) -> BuilderJob:
    # "leave it" lies below the columns
    options = sorted(choice.options.all(), key=lambda option: option.way == Way.LEAVE)
    job = sums.facts["jobs"][str(choice.job_id)]
    totals = totals_by_option(choice, revision=sums.revision, facts=sums.facts)
    return BuilderJob(
        choice=choice.pk,
        complaint=job["complaint"],
        cause=job["cause"],
        engine=job["engine_shown"],
        price_kind_code=job["price_kind"],
        price_kind=job["price_kind_shown"],
        price_kind_says=job["price_kind_says_shown"],
        free_ways=free_ways([option.way for option in options]),
        options=tuple(_option(option, totals=totals[option.pk], sums=sums) for option in options),
        economics=economics_of(
            Question(choice=choice, revision=sums.revision, totals=totals, facts=sums.facts, day=day),
            shows_costs=sums.shows_costs,
        ),
    )


def free_ways(taken: Sequence[str]) -> tuple[str, ...]:
    """The ways that may still be added: three stand side by side, and "leave it" once below them."""
    is_full = len([way for way in taken if way != Way.LEAVE]) >= MOST_OPTIONS
    return tuple(way.value for way in Way if (way not in taken if way == Way.LEAVE else not is_full))


def _option(option: QuoteOption, *, totals: Totals, sums: _Sums) -> BuilderOption:
    rows, facts = list(option.lines.all()), sums.facts
    return BuilderOption(
        pk=option.pk,
        way=str(Way(option.way).label),
        way_code=option.way,
        title=option.title,
        explanation=option.explanation,
        left_out=option.left_out,
        days=days_words(option.days),
        warranty=warranty_words(option.warranty_months, option.warranty_covers),
        totals=totals_map(totals, facts=facts),
        lines=tuple(_line(row, sums=sums) for row in rows),
        minimum=_minimum(option, rows=rows, entered=totals.sum_of_lines, sums=sums),
        margin=margin_words(rows, discount=sums.revision, facts=facts) if sums.shows_costs else None,
    )


def _minimum(option: QuoteOption, *, rows: Sequence[QuoteLine], entered: Decimal, sums: _Sums) -> str:
    minimum = from_minor(sums.shop.minimum_charge_minor, currency=sums.shop.currency)
    is_open = option.way != Way.LEAVE and bool(rows) and not any(row.is_minimum_charge for row in rows)
    return money_words(minimum, facts=sums.facts) if is_open and entered < minimum else ""


def _line(row: QuoteLine, *, sums: _Sums) -> BuilderLine:
    facts = sums.facts
    words = facts["words"]
    amount = line_amount(row.as_line(treatments_from(facts)), rules=rules_from(facts))
    discount = Decimal(row.discount_e4) / 10_000
    return BuilderLine(
        pk=row.pk,
        version=row.version,
        kind=words["kinds"][row.kind],
        number=row.number,
        description=row.description,
        quantity=quantity_words(row.quantity_milli, unit=row.unit, facts=facts),
        unit_price=money_words(from_e4(row.unit_price_e4), facts=facts),
        discount=share_words(discount, facts=facts) if discount else "",
        payer="" if row.payer == Payer.CUSTOMER else words["payers"][row.payer],
        amount=money_words(amount, facts=facts),
        condition=condition_words(row, facts=facts),
        is_minimum_charge=row.is_minimum_charge,
        margin=margin_words([row], discount=None, facts=facts) if sums.shows_costs else None,
    )
