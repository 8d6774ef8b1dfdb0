"""What a customer is told of a comparison: two real bills, the averages and when they turn, how it was made.

Never: shapes, rates, shares of futures, costs, margins, or other customers' boats.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from babel.dates import get_month_names
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from shopapp.calc.break_evens import Range
from shopapp.calc.charts import Chart, line_chart
from shopapp.calc.money import format_whole, from_minor
from shopapp.calc.weighing import paid_by
from shopapp.models import ChanceFrom, FailsHow, QuoteChoice, QuoteOption
from shopapp.queries.compared import Compared
from shopapp.queries.quote_facts import Facts
from shopapp.queries.shown_words import days_words

MONTHS_A_YEAR = 12
POINTS_A_YEAR = 4
MOST_OF_MANY = 20
# below it people say "1 in so many"
SELDOM = 0.15

REDONE_FREE = gettext_lazy("%(price)s and nothing more: done again under warranty, %(days)s without the boat")
REDONE = gettext_lazy("%(price)s + %(more)s: done again under warranty, %(days)s without the boat")
AFTER_WARRANTY = gettext_lazy(
    "%(price)s + %(more)s once its %(months)d months of warranty are over: %(next)s, %(days)s without the "
    "boat"
)
WARRANTY_LAID_UP = gettext_lazy(
    "%(price)s + %(more)s: %(next)s, %(days)s without the boat. Its %(months)d months of warranty pass while "
    "boats are laid up"
)
PAID_AGAIN = gettext_lazy("%(price)s + %(more)s: %(next)s, %(days)s without the boat")
NEVER_CHEAPER = gettext_lazy(
    "Over %(time)s, %(first)s costs more on average than %(rival)s, however seldom it fails."
)
ALWAYS_CHEAPER = gettext_lazy(
    "Over %(time)s, %(first)s stays cheaper on average than %(rival)s, however often it fails."
)
CHEAPER_BELOW = gettext_lazy(
    "Over %(time)s, %(first)s stays cheaper on average than %(rival)s as long as fewer than about %(odds)s "
    "repairs like %(first)s are back within the first season. We reckon with %(chance)s."
)
CHEAPER_BETWEEN = gettext_lazy(
    "Over %(time)s, %(first)s is cheaper on average than %(rival)s where between about %(spans)s repairs "
    "like %(first)s are back within the first season. We reckon with %(chance)s."
)
CHEAPEST = gettext_lazy("So %(cheapest)s costs least on average.")
UNSURE = gettext_lazy(
    "Which one is cheaper on average is not sure: it depends on whether such a repair fails early, by chance "
    "or by wear."
)
# what a customer reads of when it fails: never its shape
EVERY_SEASON = {
    FailsHow.BY_CHANCE: gettext_lazy("%(odds)s each season"),
    FailsHow.WEARS_OUT: gettext_lazy("%(odds)s in the first season, more in later ones"),
    FailsHow.EARLY: gettext_lazy("%(odds)s in the first season, fewer in later ones"),
}
HOW = (
    gettext_lazy("Boats run here in %(season)s; a season is one such time of running."),
    gettext_lazy(
        "A failure that the warranty covers is put right again and you pay what the warranty leaves out; any "
        "other failure is paid for, at today's prices."
    ),
    gettext_lazy(
        "The average is over many such boats, with every failure in it: some never fail, some fail more than "
        "once, and none of them pays just the average."
    ),
)
ADVISES = gettext_lazy(
    "Amounts here are rounded, with tax, and estimates; what you sign for are the prices of the ways."
)


@dataclass(frozen=True, kw_only=True)
class Telling:
    """A comparison and what its words need: the rows, their letters, and the habits of the shop."""

    choice: QuoteChoice
    rows: Mapping[int, QuoteOption]
    letters: Mapping[int, str]
    compared: Compared
    facts: Facts

    def money(self, amount: float) -> str:
        """An estimate in whole units of the currency."""
        rules = self.facts["rules"]
        return format_whole(amount, currency=rules["currency"], locale=rules["locale"])

    def coins(self, minor: int) -> str:
        """A stored amount in whole units of the currency."""
        return self.money(float(from_minor(minor, currency=self.facts["rules"]["currency"])))

    def name(self, name: str) -> str:
        """The letter and title of the option that a calculation knows by its name."""
        pk = self.compared.pk_of(name)
        return "" if pk is None else f"{self.letters[pk]} – {self.rows[pk].title}"

    def is_laid_up_for(self, months: int) -> bool:
        """Whether boats stand still for so many months after hand-over."""
        return float(self.compared.outlook.season.months_run(np.array([float(months)]))[0]) == 0

    def letter(self, name: str) -> str:
        """The letter of the option that a calculation knows by its name."""
        pk = self.compared.pk_of(name)
        return "" if pk is None else self.letters[pk]


def odds_words(chance: float) -> str:
    """A chance as people say it: "3 in 10", "1 in 8", "1 in 50"."""
    if chance < SELDOM:
        return _("1 in %(many)d") % {"many": round(1 / chance)}
    odds = Fraction(chance).limit_denominator(10)
    if abs(float(odds) - chance) > 0.01 or not 0 < odds < 1:
        odds = Fraction(chance).limit_denominator(MOST_OF_MANY)
    if odds == 1:
        return _("nearly all")
    few, many = odds.numerator, odds.denominator
    if many == 5:
        few, many = few * 2, 10
    return _("%(few)d in %(many)d") % {"few": few, "many": many}


def rough_odds_words(chance: float) -> str:
    """A chance that is only about so high: "2 in 10", or "1 in 30" where ten are too few to say it."""
    if chance < SELDOM:
        return _("1 in %(many)d") % {"many": round(1 / chance)}
    return _("%(few)d in 10") % {"few": min(round(chance * 10), 10)}


def comparison_map(telling: Telling) -> dict[str, object]:
    """All that a customer reads of the comparison of one job."""
    comparison, choice = telling.compared.comparison, telling.choice
    return {
        "time": time_words(choice.look_months),
        "rows": told_rows(telling),
        "sentence": told_sentence(telling),
        "is_unsure": comparison.is_unsure,
        "chart": _chart(telling),
        "left_out": _left_out(telling),
        "how": _how(telling),
    }


def time_words(months: int) -> str:
    """How long: "3 seasons", or "18 months" where it is no whole number of them."""
    seasons, rest = divmod(months, MONTHS_A_YEAR)
    if rest:
        return ngettext("%(months)d month", "%(months)d months", months) % {"months": months}
    return ngettext("%(seasons)d season", "%(seasons)d seasons", seasons) % {"seasons": seasons}


def season_words(choice: QuoteChoice, *, locale: str) -> str:
    """When boats run here: "May to September"."""
    if choice.season_months == MONTHS_A_YEAR:
        return _("the whole year")
    names = get_month_names("wide", locale=locale)
    last = (choice.season_first_month + choice.season_months - 2) % MONTHS_A_YEAR + 1
    if choice.season_months == 1:
        return str(names[last])
    return _("%(first)s to %(last)s") % {"first": names[choice.season_first_month], "last": names[last]}


def chance_words(row: QuoteOption, *, facts: Facts) -> str:
    """How many come back, in the first season and in later ones, and whose word that is."""
    odds = str(EVERY_SEASON[FailsHow(row.fails_how)]) % {"odds": odds_words((row.chance_e4 or 0) / 10_000)}
    if row.chance_from == ChanceFrom.RECORD:
        told = facts.get("records", {}).get(str(row.pk), "")
        return _("%(told)s; we reckon with %(odds)s") % {"odds": odds, "told": told} if told else odds
    if row.chance_from == ChanceFrom.COMMON:
        return _("%(odds)s; usual in the trade, not our own record") % {"odds": odds}
    return _("%(odds)s; our judgement, not a warranty") % {"odds": odds}


def told_rows(telling: Telling) -> list[dict[str, str]]:
    """For each option, in order of today's price: the two real bills, the average, the chance."""
    in_order = sorted(telling.letters, key=lambda pk: telling.letters[pk])
    return [_row(pk, telling=telling) for pk in in_order]


def _row(pk: int, *, telling: Telling) -> dict[str, str]:
    row, option = telling.rows[pk], telling.compared.options[pk]
    weighed = telling.compared.comparison.options[option.name]
    return {
        "letter": telling.letters[pk],
        "title": row.title,
        "holds": telling.money(option.price),
        "fails": _failure_words(pk, telling=telling),
        "average": telling.money(weighed.expected.total),
        "chance": chance_words(row, facts=telling.facts),
    }


def _failure_words(pk: int, *, telling: Telling) -> str:
    """The second real bill: what comes on top in the dearest case of the first season, and how many days."""
    row, option = telling.rows[pk], telling.compared.options[pk]
    failure = telling.compared.failure(pk)
    words = {
        "price": telling.money(option.price),
        "more": telling.money(failure.bill),
        "next": telling.name(failure.name),
        "days": days_words(round(failure.days)),
        "months": row.warranty_months,
    }
    if failure.name == option.name:
        words["next"] = _("the same again")
    if failure.is_covered:
        return str(REDONE if round(failure.bill) else REDONE_FREE) % words
    if not row.warranty_months:
        return str(PAID_AGAIN) % words
    passes_idle = row.laid_up_counts and telling.is_laid_up_for(row.warranty_months)
    return str(WARRANTY_LAID_UP if passes_idle else AFTER_WARRANTY) % words


def told_sentence(telling: Telling) -> str:
    """Up to which chance the cheapest today stays the cheaper one; empty where there are no two."""
    comparison = telling.compared.comparison
    if not comparison.rival:
        return ""
    words = {
        "first": telling.letter(comparison.first),
        "rival": telling.letter(comparison.rival),
        "cheapest": telling.letter(comparison.cheapest),
        "time": time_words(telling.choice.look_months),
    }
    turns = _turn_words(comparison.stays_cheaper, words=words, chance=_chance_of(comparison.first, telling))
    if comparison.is_unsure:
        return f"{turns} {UNSURE}"
    # only where it hangs on the chance is there something to conclude
    is_open = any(one.above > 0 or one.below < 1 for one in comparison.stays_cheaper)
    return f"{turns} {str(CHEAPEST) % words}" if is_open else turns


def _chance_of(name: str, telling: Telling) -> str:
    pk = telling.compared.pk_of(name)
    return "" if pk is None else odds_words((telling.rows[pk].chance_e4 or 0) / 10_000)


def _turn_words(ranges: Sequence[Range], *, words: Mapping[str, str], chance: str) -> str:
    """When the cheaper one of today also stays cheaper: never, always, up to a chance, or between several."""
    if not ranges:
        return str(NEVER_CHEAPER) % words
    if len(ranges) == 1 and ranges[0].above == 0.0:
        if ranges[0].below == 1.0:
            return str(ALWAYS_CHEAPER) % words
        return str(CHEAPER_BELOW) % {**words, "odds": rough_odds_words(ranges[0].below), "chance": chance}
    spans = [
        _("%(low)s and %(high)s")
        % {"low": rough_odds_words(max(one.above, 0.001)), "high": rough_odds_words(one.below)}
        for one in ranges
    ]
    return str(CHEAPER_BETWEEN) % {**words, "spans": _(" or between ").join(spans), "chance": chance}


def _chart(telling: Telling) -> dict[str, object] | None:
    """Lines of what was paid by then: only where the order of today turns, and surely."""
    compared = telling.compared
    comparison, options = compared.comparison, list(compared.options.values())
    if comparison.cheapest == comparison.first or comparison.is_unsure or any(one.resale for one in options):
        return None
    last = compared.outlook.months
    step = max(1, MONTHS_A_YEAR // POINTS_A_YEAR) if last % MONTHS_A_YEAR == 0 else 1
    along = list(range(0, last + 1, step))
    paid = paid_by(options, outlook=compared.outlook, months=along)
    lines = {telling.letter(name): values for name, values in paid.items()}
    drawn = _drawn(line_chart(lines, along=along, every=MONTHS_A_YEAR), paid=lines, telling=telling)
    ahead = zip(along, paid[comparison.first], paid[comparison.cheapest], strict=True)
    until = max(month for month, ours, theirs in ahead if ours <= theirs)
    words = {"first": telling.letter(comparison.first), "months": until}
    return drawn | {
        "turns": ngettext(
            "For about %(months)d month %(first)s has cost less on average.",
            "For about %(months)d months %(first)s has cost less on average.",
            until,
        )
        % words
        if until
        else ""
    }


def _drawn(chart: Chart, *, paid: Mapping[str, Sequence[float]], telling: Telling) -> dict[str, object]:
    return {
        "box": f"0 0 {chart.width} {chart.height}",
        "left": chart.left,
        "right": chart.right,
        "top": chart.top,
        "bottom": chart.bottom,
        "lines": [
            {
                "letter": letter,
                "code": letter.lower(),
                "points": line.points,
                "x": line.end_x,
                "y": line.end_y,
                "label_y": line.label_y,
                "label": f"{letter}\u00a0{telling.money(paid[letter][-1])}",
            }
            for letter, line in sorted(chart.lines.items())
        ],
        "across": [
            {"at": tick.at, "label": time_words(int(tick.value)) if tick.value else _("today")}
            for tick in chart.across
        ],
        "up": [{"at": tick.at, "label": telling.money(tick.value)} for tick in chart.up],
    }


def _left_out(telling: Telling) -> list[str]:
    """What the figures do not count."""
    choice = telling.choice
    told = [_("anything else that may break"), _("prices that rise")]
    if not choice.lost_day_minor:
        told.append(_("the days without your boat"))
    if not choice.tow_minor:
        told.append(_("a tow"))
    return told


def _how(telling: Telling) -> list[str]:
    """How the figures were made, in four lines."""
    season = season_words(telling.choice, locale=telling.facts["rules"]["locale"])
    counted = _counted(telling)
    last = _("Counted as well: %(counted)s.") % {"counted": ", ".join(counted)} if counted else str(ADVISES)
    return [*(str(line) % {"season": season} for line in HOW), last]


def _counted(telling: Telling) -> list[str]:
    """What is in the figures besides prices and failures: whoever reads an average has to know of it."""
    choice, counted = telling.choice, []
    if choice.lost_day_minor:
        amount = telling.coins(choice.lost_day_minor)
        counted.append(_("each day without the boat as %(amount)s") % {"amount": amount})
    if choice.tow_minor:
        counted.append(
            _("each failure with a tow of %(amount)s") % {"amount": telling.coins(choice.tow_minor)}
        )
    for pk, letter in sorted(telling.letters.items(), key=lambda one: one[1]):
        row = telling.rows[pk]
        if row.trade_in_minor:
            words = {"letter": letter, "amount": telling.coins(row.trade_in_minor)}
            counted.append(_("for %(letter)s the %(amount)s that we give for your old engine") % words)
        if row.resale_minor:
            words = {"letter": letter, "amount": telling.coins(row.resale_minor)}
            counted.append(_("that %(letter)s is still worth %(amount)s at the end") % words)
    return counted
