"""The economics of a job's options while a quote is written; margins for the owner alone."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from shopapp.calc.totals import Totals
from shopapp.calc.weighing import exposure
from shopapp.models import QuoteChoice, QuoteRevision
from shopapp.queries.compared import NotCompared
from shopapp.queries.comparison_words import Telling, time_words, told_rows, told_sentence
from shopapp.queries.margins import cost_of, price_without_tax
from shopapp.queries.quote_facts import Facts
from shopapp.queries.shown import telling_of


@dataclass(frozen=True, kw_only=True)
class Question:
    """A question of a revision with its options and lines, their totals, and what those rest on."""

    choice: QuoteChoice
    revision: QuoteRevision
    totals: Mapping[int, Totals]
    facts: Facts
    day: date


@dataclass(frozen=True, kw_only=True)
class Kept:
    """For the owner: margin today, what the warranty costs on average, what is left; dashes while unknown."""

    margin: str
    exposure: str
    left: str


@dataclass(frozen=True, kw_only=True)
class WeighedRow:
    """One option; ``spread`` is where four boats of five end."""

    letter: str
    title: str
    holds: str
    fails: str
    average: str
    per_season: str
    spread: str
    chance: str
    kept: Kept | None


@dataclass(frozen=True, kw_only=True)
class Economics:
    """The comparison of one job; without rows ``missing`` names whose chance lacks, or ``problem`` why."""

    choice: int
    time: str
    rows: tuple[WeighedRow, ...]
    sentence: str
    shows_costs: bool
    missing: tuple[str, ...] = ()
    problem: str = ""


def economics_of(question: Question, *, shows_costs: bool) -> Economics:
    """The comparison of a question. No query."""
    choice = question.choice
    told = telling_of(choice, totals=question.totals, facts=question.facts, day=question.day)
    if isinstance(told, NotCompared):
        return unweighed(question, missing=told.missing, problem=told.sentence)
    pks = sorted(told.letters, key=lambda pk: told.letters[pk])
    rows = [
        _row(
            words, pk, telling=told, kept=_kept(pk, telling=told, question=question) if shows_costs else None
        )
        for words, pk in zip(told_rows(told), pks, strict=True)
    ]
    return Economics(
        choice=choice.pk,
        time=time_words(choice.look_months),
        rows=tuple(rows),
        sentence=told_sentence(told),
        shows_costs=shows_costs,
    )


def unweighed(question: Question, *, missing: tuple[str, ...] = (), problem: str = "") -> Economics:
    """No comparison, and why there is none."""
    return Economics(
        choice=question.choice.pk,
        time=time_words(question.choice.look_months),
        rows=(),
        sentence="",
        shows_costs=False,
        missing=missing,
        problem=problem,
    )


def _row(words: dict[str, str], pk: int, *, telling: Telling, kept: Kept | None) -> WeighedRow:
    weighed = telling.compared.comparison.options[telling.compared.options[pk].name]
    return WeighedRow(
        **words,
        per_season=telling.money(weighed.per_season),
        spread=f"{telling.money(weighed.low)} – {telling.money(weighed.high)}",
        kept=kept,
    )


def _kept(pk: int, *, telling: Telling, question: Question) -> Kept:
    """Without tax. There is no margin while a cost is missing: it would count as pure profit."""
    lines = list(telling.rows[pk].lines.all())
    if not lines or any(line.unit_cost_e4 is None for line in lines):
        return Kept(margin="–", exposure="–", left="–")
    totals = question.totals[pk]
    cost = float(cost_of(lines))
    margin = float(price_without_tax(lines, discount=question.revision, facts=telling.facts)) - cost
    answer = telling.compared.comparison.options[telling.compared.options[pk].name].expected
    untaxed = float(totals.without_tax / totals.with_tax) if totals.with_tax else 1.0
    honoured = exposure(answer, cost=cost, untaxed=untaxed)
    return Kept(
        margin=telling.money(margin), exposure=telling.money(honoured), left=telling.money(margin - honoured)
    )
