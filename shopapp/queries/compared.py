"""The options of a job as their economics see them, made from rows, prices with tax and the season.

Float from here on: it advises, and is never an amount on a document.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from shopapp.calc.errors import BadInput
from shopapp.calc.life import Clock, Fails, Season, Weibull
from shopapp.calc.money import from_minor
from shopapp.calc.options import Cover, Option, Outlook, Warranty
from shopapp.calc.record import Belief
from shopapp.calc.totals import Totals
from shopapp.calc.weighing import Comparison, Failure, fails_in_first_season, weigh
from shopapp.models import FailsHow, LineKind, Payer, QuoteChoice, QuoteOption, Way, WearsBy
from shopapp.queries.quote_facts import Facts

SHAPES = {
    FailsHow.EARLY: Fails.EARLY,
    FailsHow.BY_CHANCE: Fails.BY_CHANCE,
    FailsHow.WEARS_OUT: Fails.WEARS_OUT,
}
CLOCKS = {WearsBy.USE: Clock.USE, WearsBy.CALENDAR: Clock.CALENDAR}


@dataclass(frozen=True, kw_only=True)
class Compared:
    """A job's options weighed, by the ids of their rows; ``outlook`` on which terms."""

    outlook: Outlook
    options: Mapping[int, Option]
    comparison: Comparison

    def pk_of(self, name: str) -> int | None:
        """The id of the row that an option was made from."""
        return next((pk for pk, option in self.options.items() if option.name == name), None)

    def failure(self, pk: int) -> Failure:
        """The second of the two real bills of an option."""
        option = self.options[pk]
        following = next(one for one in self.options.values() if one.name == option.next_name)
        return fails_in_first_season(option, following=following, outlook=self.outlook)


@dataclass(frozen=True, kw_only=True)
class NotCompared:
    """Why there is no comparison; ``missing`` names options without a chance, ``sentence`` what is wrong."""

    missing: tuple[str, ...] = ()
    sentence: str = ""


def compared(
    choice: QuoteChoice, *, totals: Mapping[int, Totals], facts: Facts, day: date
) -> Compared | NotCompared:
    """The comparison of a question (its options and lines prefetched) for boats handed over about ``day``.

    ``totals`` by option id: over the customer's lines. No query.
    """
    rows = [row for row in choice.options.all() if row.way != Way.LEAVE or row.chance_e4 is not None]
    missing = tuple(row.title for row in rows if row.chance_e4 is None)
    if missing or not any(row.way != Way.LEAVE for row in rows):
        return NotCompared(missing=missing)
    currency = facts["rules"]["currency"]
    outlook = _outlook(choice, day=day, currency=currency)
    names = {row.pk: f"{row.position}. {row.title}" for row in rows}
    options = {row.pk: _option(row, names=names, totals=totals[row.pk], currency=currency) for row in rows}
    priceless = {row.pk for row in rows if row.way == Way.LEAVE and not choice.lost_day_minor}
    try:
        comparison = weigh(
            list(options.values()),
            outlook=outlook,
            beliefs={names[row.pk]: _belief(row) for row in rows},
            may_win={name for pk, name in names.items() if pk not in priceless},
        )
    except BadInput as error:
        return NotCompared(sentence=error.sentence)
    return Compared(outlook=outlook, options=options, comparison=comparison)


def _outlook(choice: QuoteChoice, *, day: date, currency: str) -> Outlook:
    season = Season(handed_over=day.month, first_month=choice.season_first_month, months=choice.season_months)
    return Outlook(
        months=choice.look_months,
        season=season,
        rate=choice.rate_e4 / 10_000,
        lost_day=_money(choice.lost_day_minor, currency=currency),
        tow=_money(choice.tow_minor, currency=currency),
    )


def _option(row: QuoteOption, *, names: Mapping[int, str], totals: Totals, currency: str) -> Option:
    chance = (row.chance_e4 or 0) / 10_000
    return Option(
        name=names[row.pk],
        price=max(0.0, float(totals.with_tax) - _money(row.trade_in_minor, currency=currency)),
        life=Weibull(chance=chance, shape=SHAPES[FailsHow(row.fails_how)].value),
        clock=CLOCKS[WearsBy(row.wears_by)],
        days=row.days,
        warranty=Warranty(
            months=row.warranty_months,
            left_out=_left_out(row, totals=totals),
            pro_rata=row.is_pro_rata,
            laid_up_counts=row.laid_up_counts,
            cover=Cover.RENEWING if row.cover_renews else Cover.FIRST,
        ),
        follows=names.get(row.follows_id) if row.follows_id is not None else None,
        damage=_money(row.damage_minor, currency=currency),
        lost_core=_money(row.lost_core_minor, currency=currency),
        resale=_money(row.resale_minor, currency=currency),
    )


def _left_out(row: QuoteOption, *, totals: Totals) -> float:
    """What the customer pays of a redo: labour, or fluids, freight and fees, where cover leaves them out."""
    kinds: set[str] = set()
    if not row.covers_labour:
        kinds |= {LineKind.LABOUR}
    if not row.covers_supplies:
        kinds |= {LineKind.FLUID, LineKind.FEE}
    paid = [line for line in row.lines.all() if line.payer == Payer.CUSTOMER]
    amounts = zip(paid, totals.line_amounts, strict=True)
    theirs = sum((amount for line, amount in amounts if line.kind in kinds), Decimal(0))
    entered = sum(totals.line_amounts, Decimal(0))
    return float(theirs * totals.with_tax / entered) if entered else 0.0


def _belief(row: QuoteOption) -> Belief:
    chance = (row.chance_e4 or 0) / 10_000
    return Belief(alpha=chance * row.chance_weight, beta=(1 - chance) * row.chance_weight)


def _money(minor: int, *, currency: str) -> float:
    return float(from_minor(minor, currency=currency))
