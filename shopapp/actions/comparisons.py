"""On which assumptions the options of a job are compared: how long each lasts, what follows, for how long."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import versions
from shopapp.actions.actor import Actor
from shopapp.actions.bounds import amount_minor, require_within
from shopapp.actions.quote_drafts import lock_draft, record_change, revision_of, still_there
from shopapp.calc.errors import BadInput
from shopapp.calc.money import to_e4
from shopapp.calc.options import LONGEST
from shopapp.models import ChanceFrom, FailsHow, QuoteChoice, QuoteOption, Way, WearsBy
from shopapp.queries.shop import the_shop

LONGEST_WORD, LONGEST_REASON = 240, 200
MOST_WEIGHT = 10_000


@dataclass(frozen=True, kw_only=True)
class LifeInput:
    """How long one option lasts and what its failure costs; without a chance (a share) it is not compared.

    ``follows``: the option that is done after a failure outside cover; nothing: the same again.
    """

    chance: Decimal | None = None
    chance_from: str = ChanceFrom.JUDGEMENT
    chance_weight: int = 8
    fails_how: str = FailsHow.BY_CHANCE
    wears_by: str = WearsBy.USE
    covers_labour: bool = True
    covers_supplies: bool = True
    is_pro_rata: bool = False
    laid_up_counts: bool = True
    cover_renews: bool = False
    follows: int | None = None
    damage: Decimal = Decimal(0)
    lost_core: Decimal = Decimal(0)
    resale: Decimal = Decimal(0)
    trade_in: Decimal = Decimal(0)


@dataclass(frozen=True, kw_only=True)
class ComparisonInput:
    """The terms of a comparison, and a life for each option by its id. ``rate``: a year's, as a share."""

    look_months: int = 36
    season_first_month: int = 5
    season_months: int = 5
    rate: Decimal = Decimal(0)
    lost_day: Decimal = Decimal(0)
    tow: Decimal = Decimal(0)
    own_word: str = ""
    not_offered: Mapping[str, str] = field(default_factory=dict)
    lives: Mapping[int, LifeInput] = field(default_factory=dict)


@transaction.atomic
def set_comparison(choice_pk: int, data: ComparisonInput, *, version: int, by: Actor) -> QuoteChoice:
    """Say on which assumptions the options of a job in a draft are compared, if nobody did since ``version``.

    An option of which nothing is said stays as it is. The person's own word is signed by whoever changes it.
    Locks the work order, the revision, last the chain head. A second sender with the same version gets
    Stale and writes nothing. If the power fails, all of it is there or nothing. Raises BadInput at the
    field; those of an option are called by ``life_field``.
    """
    revision = lock_draft(revision_of(QuoteChoice, choice_pk), by=by)
    choice = still_there(QuoteChoice.objects.filter(pk=choice_pk).first())
    options = {option.pk: option for option in choice.options.all()}
    currency = the_shop().currency
    changes = comparison_columns(data, currency=currency) | _word(choice, data.own_word.strip(), by=by)
    lives = {
        pk: life_columns(pk, life, options=options, currency=currency)
        for pk, life in data.lives.items()
        if pk in options
    }
    _require_no_circle({pk: option.follows_id for pk, option in options.items()}, lives)
    saved = versions.save_edit(choice, version=version, changes=changes)
    for pk, values in lives.items():
        QuoteOption.objects.filter(pk=pk).update(**values)
    facts: dict[str, str | int] = {"job": choice.position, "compared": len(lives)}
    record_change("compare options", revision, revision=revision, by=by, facts=facts)
    return saved


def life_field(option_pk: int, name: str) -> str:
    """What a field of one option is called where fields of several stand beside each other."""
    return f"option-{option_pk}-{name}"


def comparison_columns(data: ComparisonInput, *, currency: str) -> dict[str, Any]:
    """The columns of a question that hold the terms. Raises BadInput at the field."""
    require_within("look_months", data.look_months, least=1, most=LONGEST)
    require_within("season_first_month", data.season_first_month, least=1, most=12)
    require_within("season_months", data.season_months, least=1, most=12)
    if not 0 <= data.rate <= 1:
        raise BadInput("rate", data.rate, _("a share from 0 to 1"))
    return {
        "look_months": data.look_months,
        "season_first_month": data.season_first_month,
        "season_months": data.season_months,
        "rate_e4": to_e4(data.rate, field="rate"),
        "lost_day_minor": amount_minor("lost_day", data.lost_day, currency=currency),
        "tow_minor": amount_minor("tow", data.tow, currency=currency),
        "not_offered": _reasons(data.not_offered),
    }


def _word(choice: QuoteChoice, word: str, *, by: Actor) -> dict[str, Any]:
    if len(word) > LONGEST_WORD:
        raise BadInput("own_word", word, _("one sentence of at most %s letters") % LONGEST_WORD)
    if word == choice.own_word:
        return {}
    return {"own_word": word, "own_word_by": by.person if word else None}


def _reasons(reasons: Mapping[str, str]) -> dict[str, str]:
    kept = {way: reason.strip() for way, reason in reasons.items() if reason.strip()}
    for way, reason in kept.items():
        if way not in Way.values:
            raise BadInput("not_offered", way, ", ".join(Way.values))
        if len(reason) > LONGEST_REASON:
            raise BadInput(f"not_offered-{way}", reason, _("at most %s letters") % LONGEST_REASON)
    return kept


def life_columns(
    pk: int, data: LifeInput, *, options: Mapping[int, QuoteOption], currency: str
) -> dict[str, Any]:
    """The columns of an option that hold its life. Raises BadInput at the field, by ``life_field``."""
    for name, known in (("chance_from", ChanceFrom), ("fails_how", FailsHow), ("wears_by", WearsBy)):
        if getattr(data, name) not in known.values:
            raise BadInput(life_field(pk, name), getattr(data, name), ", ".join(known.values))
    able = {other for other, option in options.items() if option.way != Way.LEAVE}
    if data.follows is not None and data.follows not in able:
        raise BadInput(life_field(pk, "follows"), data.follows, _("one of the repairs of this job"))
    require_within(life_field(pk, "chance_weight"), data.chance_weight, least=1, most=MOST_WEIGHT)
    amounts = ("damage", "lost_core", "resale", "trade_in")
    kept = (
        *("chance_from", "chance_weight", "fails_how", "wears_by", "covers_labour", "covers_supplies"),
        *("is_pro_rata", "laid_up_counts", "cover_renews"),
    )
    return {
        "chance_e4": _chance(pk, data.chance),
        "follows_id": data.follows if data.follows != pk else None,
        **{name: getattr(data, name) for name in kept},
        **{
            f"{name}_minor": amount_minor(life_field(pk, name), getattr(data, name), currency=currency)
            for name in amounts
        },
    }


def _chance(pk: int, chance: Decimal | None) -> int | None:
    if chance is None:
        return None
    name = life_field(pk, "chance")
    if not Decimal("0.0001") <= chance <= Decimal("0.9999"):
        raise BadInput(name, chance, _("a chance that is neither nil nor certain"))
    return to_e4(chance.quantize(Decimal("0.0001")), field=name)


def _require_no_circle(follows: Mapping[int, int | None], lives: Mapping[int, Mapping[str, Any]]) -> None:
    """Refused at the option whose followers lead back to it."""
    after = dict(follows) | {pk: values["follows_id"] for pk, values in lives.items()}
    for start in after:
        seen, now = {start}, after[start]
        while now is not None and now in after:
            if now == start:
                raise BadInput(
                    life_field(start, "follows"), now, _("options that do not follow each other in a circle")
                )
            if now in seen:
                break
            seen.add(now)
            now = after[now]
