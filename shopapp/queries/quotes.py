"""The page on which a quote is written. Costs and margins are on the owner's page; others get it without."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from fractions import Fraction

from django.db.models import QuerySet
from django.utils.translation import ngettext

from shopapp import access
from shopapp.calc.money import from_e4, from_milli, from_minor, round_money
from shopapp.calc.pricing import margin_of
from shopapp.calc.totals import Adjustment, document_totals, line_amount, share_off
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
from shopapp.queries.frozen_sums import rules_from, treatments_from
from shopapp.queries.quote_facts import Facts, facts_of
from shopapp.queries.shop import local_day, the_shop
from shopapp.queries.shown import (
    Content,
    condition_words,
    days_words,
    discount_map,
    money_words,
    option_totals,
    quantity_words,
    revision_rows,
    share_words,
    totals_map,
    warranty_words,
)
from shopapp.queries.vessels import boat_line

MOST_OPTIONS = 3
# how many things that were taken away can be put back
MOST_REMOVED = 10


@dataclass(frozen=True, kw_only=True)
class Margin:
    """What something costs and leaves, for the owner alone; ``missing`` says how many costs are not known."""

    cost: str
    margin: str
    share: str
    missing: str = ""


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
    facts = facts_of(revision, shop=shop, day=local_day(shop, at), at=at)
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
            _job(choice, sums=_Sums(revision=revision, shop=shop, facts=facts, viewer=viewer))
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


def _job(choice: QuoteChoice, *, sums: _Sums) -> BuilderJob:
    # "leave it" lies below the columns
    options = sorted(choice.options.all(), key=lambda option: option.way == Way.LEAVE)
    job = sums.facts["jobs"][str(choice.job_id)]
    return BuilderJob(
        choice=choice.pk,
        complaint=job["complaint"],
        cause=job["cause"],
        engine=job["engine_shown"],
        price_kind_code=job["price_kind"],
        price_kind=job["price_kind_shown"],
        price_kind_says=job["price_kind_says_shown"],
        free_ways=free_ways([option.way for option in options]),
        options=tuple(_option(option, sums=sums) for option in options),
    )


def free_ways(taken: Sequence[str]) -> tuple[str, ...]:
    """The ways that may still be added: three stand side by side, and "leave it" once below them."""
    is_full = len([way for way in taken if way != Way.LEAVE]) >= MOST_OPTIONS
    return tuple(way.value for way in Way if (way not in taken if way == Way.LEAVE else not is_full))


def _option(option: QuoteOption, *, sums: _Sums) -> BuilderOption:
    rows, facts = list(option.lines.all()), sums.facts
    totals = option_totals(rows, revision=sums.revision, facts=facts)
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
        margin=_margin(rows, discount=sums.revision, facts=facts) if sums.shows_costs else None,
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
        margin=_margin([row], discount=None, facts=facts) if sums.shows_costs else None,
    )


def _margin(rows: Sequence[QuoteLine], *, discount: QuoteRevision | None, facts: Facts) -> Margin:
    """Price without tax (what the shop gives away brings nothing in) less the costs of all lines.

    The discount on the whole comes off what the customer pays; a line by itself is shown before it. There
    is no margin while a line has no cost: it would count as pure profit.
    """
    rules = rules_from(facts)
    price = _price(rows, discount=discount, facts=facts)
    exact = sum((_exact_cost(row) for row in rows), Fraction(0))
    cost = round_money(exact, currency=rules.currency, rounding=rules.rounding)
    unknown = sum(row.unit_cost_e4 is None for row in rows)
    is_known = unknown == 0 and bool(rows)
    return Margin(
        cost=money_words(cost, facts=facts) if unknown < len(rows) else "–",
        margin=money_words(price - cost, facts=facts) if is_known else "–",
        share=share_words(margin_of(price, cost=cost), facts=facts) if is_known and price > 0 else "",
        missing=_missing_words(unknown),
    )


def _price(rows: Sequence[QuoteLine], *, discount: QuoteRevision | None, facts: Facts) -> Decimal:
    rules, treatments = rules_from(facts), treatments_from(facts)
    paid = [row for row in rows if row.payer != Payer.SHOP]
    off: tuple[Adjustment, ...] = ()
    if discount is not None:
        theirs = [row.as_line(treatments) for row in paid if row.payer == Payer.CUSTOMER]
        share = Decimal(discount.discount_e4) / 10_000
        off = share_off(theirs, share=share, reason=discount.discount_reason, rules=rules)
    lines = [row.as_line(treatments) for row in paid]
    return document_totals(lines, rules=rules, allowances=off).without_tax


def _exact_cost(row: QuoteLine) -> Fraction:
    if row.unit_cost_e4 is None:
        return Fraction(0)
    return Fraction(from_milli(row.quantity_milli)) * Fraction(from_e4(row.unit_cost_e4))


def _missing_words(unknown: int) -> str:
    if not unknown:
        return ""
    return ngettext("%(lines)d line has no cost", "%(lines)d lines have no cost", unknown) % {
        "lines": unknown
    }
