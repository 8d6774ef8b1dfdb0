"""The page on which a quote is written. Costs and margins are on the owner's page; others get it without."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from fractions import Fraction

from django.utils.translation import ngettext

from shopapp import access
from shopapp.calc.money import from_e4, from_milli, round_money
from shopapp.calc.pricing import margin_of
from shopapp.calc.totals import document_totals, line_amount
from shopapp.models import Payer, Person, QuoteChoice, QuoteLine, QuoteOption, Way
from shopapp.queries.quote_facts import Facts, facts_of, rules_from, treatments_from
from shopapp.queries.shop import local_day, the_shop
from shopapp.queries.shown import (
    Content,
    days_words,
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
    kind: str
    number: str
    description: str
    quantity: str
    unit_price: str
    discount: str
    payer: str
    amount: str
    margin: Margin | None


@dataclass(frozen=True, kw_only=True)
class BuilderOption:
    """One option as a column of the page."""

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
    margin: Margin | None


@dataclass(frozen=True, kw_only=True)
class BuilderJob:
    """The question about one job, with its options in the order in which they were added."""

    choice: int
    complaint: str
    cause: str
    engine: str
    may_add: bool
    options: tuple[BuilderOption, ...]


@dataclass(frozen=True, kw_only=True)
class BuilderPage:
    """The whole page; amounts are text in the shop's own way of writing."""

    pk: int
    number: str
    revision: int
    work_order_pk: int
    work_order: str
    boat: str
    customer: str
    shows_costs: bool
    jobs: tuple[BuilderJob, ...]


def builder_page(revision_pk: int, *, viewer: Person, at: datetime) -> BuilderPage:
    """The page of a draft with taxes of the shop's day at that moment; nine queries, whatever its size."""
    revision = revision_rows(revision_pk)
    work_order = revision.quote.work_order
    shop = the_shop()
    facts = facts_of(revision, shop=shop, day=local_day(shop, at))
    return BuilderPage(
        pk=revision.pk,
        number=revision.quote.number,
        revision=revision.revision,
        work_order_pk=work_order.pk,
        work_order=work_order.number,
        boat=boat_line(work_order.vessel),
        customer=work_order.customer.name,
        shows_costs=access.may_see_costs(viewer),
        jobs=tuple(_job(choice, facts=facts, viewer=viewer) for choice in revision.choices.all()),
    )


def _job(choice: QuoteChoice, *, facts: Facts, viewer: Person) -> BuilderJob:
    options = list(choice.options.all())
    job = facts["jobs"][str(choice.job_id)]
    return BuilderJob(
        choice=choice.pk,
        complaint=job["complaint"],
        cause=job["cause"],
        engine=job["engine_shown"],
        may_add=len(options) < MOST_OPTIONS,
        options=tuple(_option(option, facts=facts, viewer=viewer) for option in options),
    )


def _option(option: QuoteOption, *, facts: Facts, viewer: Person) -> BuilderOption:
    rows = list(option.lines.all())
    return BuilderOption(
        pk=option.pk,
        way=str(Way(option.way).label),
        way_code=option.way,
        title=option.title,
        explanation=option.explanation,
        left_out=option.left_out,
        days=days_words(option.days),
        warranty=warranty_words(option.warranty_months, option.warranty_covers),
        totals=totals_map(option_totals(rows, facts=facts), facts=facts),
        lines=tuple(_line(row, facts=facts, viewer=viewer) for row in rows),
        margin=_margin(rows, facts=facts) if access.may_see_costs(viewer) else None,
    )


def _line(row: QuoteLine, *, facts: Facts, viewer: Person) -> BuilderLine:
    words = facts["words"]
    amount = line_amount(row.as_line(treatments_from(facts)), rules=rules_from(facts))
    discount = Decimal(row.discount_e4) / 10_000
    return BuilderLine(
        pk=row.pk,
        kind=words["kinds"][row.kind],
        number=row.number,
        description=row.description,
        quantity=quantity_words(row.quantity_milli, unit=row.unit, facts=facts),
        unit_price=money_words(from_e4(row.unit_price_e4), facts=facts),
        discount=share_words(discount, facts=facts) if discount else "",
        payer="" if row.payer == Payer.CUSTOMER else words["payers"][row.payer],
        amount=money_words(amount, facts=facts),
        margin=_margin([row], facts=facts) if access.may_see_costs(viewer) else None,
    )


def _margin(rows: Sequence[QuoteLine], *, facts: Facts) -> Margin:
    """Price without tax (what the shop gives away brings nothing in) less the costs of all lines.

    There is no margin while a line has no cost: it would count as pure profit.
    """
    rules, treatments = rules_from(facts), treatments_from(facts)
    paid = [row.as_line(treatments) for row in rows if row.payer != Payer.SHOP]
    price = document_totals(paid, rules=rules).without_tax
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
