"""What a customer is shown of a quote, as a plain map: the one source of page, paper and approval.

Exact figures are text, what people read stands beside them in keys that end in ``_shown``.
"""

import json
from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db.models import Prefetch
from django.utils.translation import gettext as _

from shopapp.calc.money import decimals_of, format_money, format_number, from_e4, from_milli, from_minor
from shopapp.calc.totals import TaxRow, Totals
from shopapp.models import PartCondition, Payer, QuoteChoice, QuoteLine, QuoteOption, QuoteRevision, Unit, Way
from shopapp.queries.compared import NotCompared, compared
from shopapp.queries.comparison_words import Telling, comparison_map
from shopapp.queries.erased import Erased
from shopapp.queries.frozen_sums import totals_less, treatments_from
from shopapp.queries.quote_facts import Facts, facts_of
from shopapp.queries.shop import local_day, the_shop
from shopapp.queries.shown_schemas import SCHEMA, in_schema
from shopapp.queries.shown_words import day_words, days_words, warranty_words

LETTERS = "ABCD"
# what an option's comparison rests on besides its lines, days and warranty
LIFE = (
    *(
        "chance_e4",
        "chance_from",
        "chance_weight",
        "fails_how",
        "wears_by",
        "covers_labour",
        "covers_supplies",
    ),
    *("is_pro_rata", "laid_up_counts", "cover_renews", "follows_id", "damage_minor", "lost_core_minor"),
    *("resale_minor", "trade_in_minor"),
)

type Content = dict[str, Any]


def revision_rows(pk: int) -> QuoteRevision:
    """The revision with its choices, options and lines in order; four queries. Raises DoesNotExist."""
    options = QuoteOption.objects.order_by("position").prefetch_related(
        Prefetch("lines", QuoteLine.objects.order_by("position"))
    )
    choices = (
        QuoteChoice.objects.select_related("job__engine", "own_word_by")
        .order_by("position", "pk")
        .prefetch_related(Prefetch("options", options))
    )
    work_order = "quote__work_order"
    return (
        QuoteRevision.objects.select_related(f"{work_order}__vessel", f"{work_order}__customer")
        .prefetch_related(Prefetch("choices", choices))
        .get(pk=pk)
    )


def draft_content(revision: QuoteRevision, *, at: datetime) -> Content:
    """What a draft would show if it were sent at that moment; the taxes are those of the shop's day."""
    shop = the_shop()
    day = local_day(shop, at)
    until = day + timedelta(days=shop.quote_valid_days)
    facts = facts_of(revision, shop=shop, day=day, at=at)
    return content_of(revision, facts=facts, day=day, until=until)


def stored_content(revision: QuoteRevision) -> Content:
    """What a sent revision showed, as it was stored. Raises Erased once it went with its customer's data."""
    if not revision.shown:
        raise Erased
    content: Content = json.loads(revision.shown)
    return content


def content_from_rows(revision: QuoteRevision) -> Content:
    """What a sent revision shows by all rows as they are now (``revision`` from ``revision_rows``).

    Words for ways, units, payers and kinds are those that were frozen with it.
    """
    day, until, at = _moments(revision)
    stored = stored_content(revision)
    facts = facts_of(revision, shop=the_shop(), day=day, at=at, frozen=stored["facts"])
    content = content_of(revision, facts=facts, day=day, until=until, told=_told_then(stored))
    return in_schema(content, schema=stored["schema"])


def content_on_frozen_facts(revision: QuoteRevision) -> Content:
    """What a sent revision shows by the quote's own rows, resting on the facts that were frozen with it."""
    day, until, _at = _moments(revision)
    stored = stored_content(revision)
    content = content_of(revision, facts=stored["facts"], day=day, until=until, told=_told_then(stored))
    return in_schema(content, schema=stored["schema"])


def figures(content: Any) -> Any:
    """The content without the keys that end in ``_shown``: what no better way of writing numbers alters."""
    if isinstance(content, Mapping):
        return {key: figures(value) for key, value in content.items() if not key.endswith("_shown")}
    return [figures(value) for value in content] if isinstance(content, list) else content


type Told = Mapping[int, Content | None]


def _told_then(stored: Content) -> Told:
    """What was told of the comparison of each question: its assumptions are checked, its words are kept."""
    return {job["choice"]: job.get("comparison_shown") for job in stored["jobs"]}


def content_of(
    revision: QuoteRevision, *, facts: Facts, day: date, until: date, told: Told | None = None
) -> Content:
    """The map itself. Options stand in order of today's price, "leave it" last; no prices are added up.

    The options of each job are compared anew, unless it is said what was ``told`` of them.
    """
    locale = facts["rules"]["locale"]
    return {
        "schema": SCHEMA,
        "number": revision.quote.number,
        "revision": revision.revision,
        "date": day.isoformat(),
        "date_shown": day_words(day, locale=locale),
        "valid_until": until.isoformat(),
        "valid_until_shown": day_words(until, locale=locale),
        "tax_note_shown": _("Tax at today's rate."),
        "is_supplement": revision.quote.is_supplement,
        **discount_map(revision, facts=facts),
        "facts": facts,
        "jobs": [
            _job(choice, revision=revision, facts=facts, day=day, told=told)
            for choice in revision.choices.all()
        ],
    }


def grown_to(content: Content, *, adds: Decimal) -> Content | None:
    """What a supplement makes of all that is agreed, without tax; ``None`` where nothing is added to."""
    facts = content["facts"]
    agreed = facts.get("agreed")
    if agreed is None:
        return None
    return {
        "agreed_shown": agreed["without_tax_shown"],
        "adds_shown": money_words(adds, facts=facts),
        "in_all_shown": money_words(Decimal(agreed["without_tax"]) + adds, facts=facts),
    }


def totals_map(totals: Totals, *, facts: Facts) -> Content:
    """Totals as text, exact and as people read them. Of lines and discount the sums are as entered."""
    sums = {
        "lines": totals.sum_of_lines,
        "discount": totals.allowances,
        "without_tax": totals.without_tax,
        "tax": totals.tax,
        "with_tax": totals.with_tax,
    }
    return (
        {name: f"{amount:f}" for name, amount in sums.items()}
        | {f"{name}_shown": money_words(amount, facts=facts) for name, amount in sums.items()}
        | {"has_discount": bool(totals.allowances)}
        | {"rows": [_tax_row(row, facts=facts) for row in totals.tax_rows]}
    )


def _moments(revision: QuoteRevision) -> tuple[date, date, datetime]:
    if revision.tax_date is None or revision.valid_until_date is None or revision.sent_at is None:
        raise ValueError(f"{revision} was not sent, so it has shown nothing yet")
    return revision.tax_date, revision.valid_until_date, revision.sent_at


def discount_map(revision: QuoteRevision, *, facts: Facts) -> Content:
    """The discount on the whole of what is chosen: its share, how people read it, and its reason."""
    share = Decimal(revision.discount_e4) / 10_000
    return {
        "discount": f"{share:f}",
        "discount_shown": share_words(share, facts=facts) if share else "",
        "discount_reason": revision.discount_reason,
    }


def _job(
    choice: QuoteChoice, *, revision: QuoteRevision, facts: Facts, day: date, told: Told | None
) -> Content:
    totals = totals_by_option(choice, revision=revision, facts=facts)
    found = [_option(option, totals=totals[option.pk], facts=facts) for option in choice.options.all()]
    found.sort(key=lambda one: _place(one["way"], Decimal(one["totals"]["with_tax"]), one["option"]))
    options = [{"letter": letter} | one for letter, one in zip(LETTERS, found, strict=False)]
    return {
        "choice": choice.pk,
        "job": choice.job_id,
        "options": options,
        "terms": _terms(choice, facts=facts),
        "comparison_shown": _comparison(choice, totals=totals, facts=facts, day=day)
        if told is None
        else told.get(choice.pk),
    }


def totals_by_option(choice: QuoteChoice, *, revision: QuoteRevision, facts: Facts) -> dict[int, Totals]:
    """Document totals of each option of a question, by its id. No query."""
    return {
        row.pk: option_totals(list(row.lines.all()), revision=revision, facts=facts)
        for row in choice.options.all()
    }


def telling_of(
    choice: QuoteChoice, *, totals: Mapping[int, Totals], facts: Facts, day: date
) -> Telling | NotCompared:
    """The options of a question weighed at their document totals, lettered in order of price. No query."""
    rows = {option.pk: option for option in choice.options.all()}
    found = compared(choice, totals=totals, facts=facts, day=day)
    if isinstance(found, NotCompared):
        return found
    in_order = sorted(rows.values(), key=lambda row: _place(row.way, totals[row.pk].with_tax, row.pk))
    letters = {row.pk: letter for letter, row in zip(LETTERS, in_order, strict=False)}
    return Telling(
        choice=choice,
        rows=rows,
        letters={pk: letter for pk, letter in letters.items() if pk in found.options},
        compared=found,
        facts=facts,
    )


def _place(way: str, price: Decimal, pk: int) -> tuple[bool, Decimal, int]:
    """In order of today's price, "leave it" last."""
    return way == Way.LEAVE, price, pk


def _comparison(
    choice: QuoteChoice, *, totals: Mapping[int, Totals], facts: Facts, day: date
) -> Content | None:
    """What a customer is told of the comparison of a question; nothing where there is none."""
    found = telling_of(choice, totals=totals, facts=facts, day=day)
    return None if isinstance(found, NotCompared) else comparison_map(found)


def _terms(choice: QuoteChoice, *, facts: Facts) -> Content:
    """On which terms the options are compared, what is not offered, and the mechanic's own sentence."""
    offered = {option.way for option in choice.options.all()}
    ways = facts["words"]["ways"]
    return {
        "look_months": choice.look_months,
        "season_first_month": choice.season_first_month,
        "season_months": choice.season_months,
        "rate_e4": choice.rate_e4,
        "lost_day_minor": choice.lost_day_minor,
        "tow_minor": choice.tow_minor,
        "own_word": choice.own_word,
        "own_word_by": choice.own_word_by_id,
        "own_word_by_shown": choice.own_word_by.name if choice.own_word_by is not None else "",
        "not_offered": [
            {"way": way, "way_shown": ways.get(way, ""), "reason": reason}
            for way, reason in sorted(choice.not_offered.items())
            if way not in offered
        ],
    }


def _option(option: QuoteOption, *, totals: Totals, facts: Facts) -> Content:
    rows = list(option.lines.all())
    amounts = iter(totals.line_amounts)
    lines = [
        _line(row, amount=next(amounts) if row.payer == Payer.CUSTOMER else None, facts=facts) for row in rows
    ]
    return {
        "option": option.pk,
        "way": option.way,
        "way_shown": facts["words"]["ways"][option.way],
        "title": option.title,
        "explanation": option.explanation,
        "left_out": option.left_out,
        "days": option.days,
        "days_shown": days_words(option.days),
        "warranty_months": option.warranty_months,
        "warranty_covers": option.warranty_covers,
        "warranty_shown": warranty_words(option.warranty_months, option.warranty_covers),
        "lines": lines,
        "totals": totals_map(totals, facts=facts),
        "life": {name: getattr(option, name) for name in LIFE},
        "trade_in_shown": _trade_in(option, facts=facts),
    }


def _trade_in(option: QuoteOption, *, facts: Facts) -> str:
    amount = from_minor(option.trade_in_minor, currency=facts["rules"]["currency"])
    return money_words(amount, facts=facts) if amount else ""


def option_totals(rows: Sequence[QuoteLine], *, revision: QuoteRevision, facts: Facts) -> Totals:
    """Document totals of the lines of one option that the customer pays, less the document's discount."""
    treatments = treatments_from(facts)
    lines = [row.as_line(treatments) for row in rows if row.payer == Payer.CUSTOMER]
    return totals_less(lines, discount_map(revision, facts=facts), facts=facts)


def _line(row: QuoteLine, *, amount: Decimal | None, facts: Facts) -> Content:
    """One line; what somebody else pays has no amount, but the word for who pays."""
    words = facts["words"]
    quantity, price = from_milli(row.quantity_milli), from_e4(row.unit_price_e4)
    discount = Decimal(row.discount_e4) / 10_000
    is_customers = amount is not None
    return {
        "kind": row.kind,
        "kind_shown": words["kinds"][row.kind],
        "number": row.number,
        "description": row.description,
        "quantity": f"{quantity:f}",
        "quantity_shown": quantity_words(row.quantity_milli, unit=row.unit, facts=facts),
        "unit": row.unit,
        "unit_price": f"{price:f}",
        "unit_price_shown": money_words(price, facts=facts) if is_customers else "",
        "discount": f"{discount:f}",
        "discount_shown": share_words(discount, facts=facts) if discount else "",
        "tax_code": row.tax_code_id,
        "condition": row.condition,
        "condition_shown": condition_words(row, facts=facts),
        "payer": row.payer,
        "payer_shown": words["payers"][row.payer],
        "amount": f"{amount:f}" if amount is not None else "",
        "amount_shown": money_words(amount, facts=facts)
        if amount is not None
        else words["payers"][row.payer],
    }


def condition_words(row: QuoteLine, *, facts: Facts) -> str:
    """What a part is when it is not a new one of the shop's, such as "used"."""
    if row.condition == PartCondition.NEW:
        return ""
    return str(facts["words"].get("conditions", {}).get(row.condition, ""))


def _tax_row(row: TaxRow, *, facts: Facts) -> Content:
    label = row.exemption_reason or f"{row.component_name} {share_words(row.rate, facts=facts)}".strip()
    return {
        "name": row.component_name,
        "rate": f"{row.rate:f}",
        "taxable": f"{row.taxable:f}",
        "tax": f"{row.tax:f}",
        "label_shown": label,
        "tax_shown": money_words(row.tax, facts=facts),
    }


def money_words(amount: Decimal, *, facts: Facts) -> str:
    """An amount in the currency and habits of the shop."""
    rules = facts["rules"]
    return format_money(amount, currency=rules["currency"], locale=rules["locale"])


def quantity_words(quantity_milli: int, *, unit: str, facts: Facts) -> str:
    """A quantity with its unit, such as "1.5 h"; pieces are counted without a word."""
    number = number_words(from_milli(quantity_milli), locale=facts["rules"]["locale"])
    if unit == Unit.EACH:
        return number
    return f"{number}\u00a0{facts['words']['units'][unit]}"


def share_words(share: Decimal, *, facts: Facts) -> str:
    """A share as per cent, such as "12.5 %"."""
    return f"{number_words(share * 100, locale=facts['rules']['locale'])}\u00a0%"


def number_words(value: Decimal, *, locale: str) -> str:
    """A number without noughts at its end, in the habits of the locale."""
    return format_number(value, locale=locale, decimals=decimals_of(value))
