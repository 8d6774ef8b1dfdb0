"""The form of a comparison: for each option how long it lasts, in a mechanic's words, and the terms."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shopapp.actions.comparisons import (
    LONGEST_REASON,
    LONGEST_WORD,
    ComparisonInput,
    LifeInput,
    life_field,
)
from shopapp.calc.life import Season
from shopapp.calc.money import from_minor
from shopapp.calc.options import LONGEST
from shopapp.calc.record import WEIGHT_OF_PRIOR, Belief
from shopapp.models import ChanceFrom, FailsHow, QuoteChoice, RepairKind, Way, WearsBy
from shopapp.queries.compare_pages import ComparedOption, ComparePage
from shopapp.queries.compared import CLOCKS
from shopapp.queries.comparison_words import odds_words
from shopapp.queries.repair_records import RepairRecord
from shopapp.queries.starting_chances import KIND_OF_WAY
from shopapp.web.shared.forms import NumberField
from shopapp.web.shared.seasons import SeasonForm
from shopapp.web.shared.text_fields import LineField

NIL = Decimal(0)
NOT_COMPARED, A_NUMBER, THE_RECORD = "", "number", "record"
# of ten such repairs: common practice, no source
IN_WORDS: Mapping[str, tuple[int, Any]] = {
    "few": (300, gettext_lazy("hardly any")),
    "one": (1_000, gettext_lazy("one of ten")),
    "some": (2_500, gettext_lazy("two or three of ten")),
    "half": (5_000, gettext_lazy("half of them")),
    "most": (8_000, gettext_lazy("most of them")),
}
TICKS = ("covers_labour", "covers_supplies", "is_pro_rata", "laid_up_counts", "cover_renews")
AMOUNTS = ("damage", "lost_core", "resale", "trade_in")
# asked only where an engine is replaced
OF_AN_ENGINE = ("resale", "trade_in")


class ComparisonForm(SeasonForm):
    """Terms of the comparison, then the fields of each option under names of its own (``life_field``)."""

    field_order = ("version", "look_months")

    look_months = NumberField(
        label=gettext_lazy("Look ahead"), decimals=0, least=Decimal(1), most=Decimal(LONGEST)
    )
    lost_day = NumberField(
        label=gettext_lazy("Worth of a day without the boat"),
        decimals=2,
        least=NIL,
        required=False,
        help_text=gettext_lazy("Nil unless the boat earns money."),
    )
    tow = NumberField(label=gettext_lazy("A tow when it fails"), decimals=2, least=NIL, required=False)
    rate = NumberField(
        label=gettext_lazy("Later money counts less, a year"),
        decimals=2,
        least=NIL,
        most=Decimal(100),
        required=False,
        help_text=gettext_lazy("Nil for most customers."),
    )
    own_word = LineField(
        label=gettext_lazy("A sentence of your own"),
        max_length=LONGEST_WORD,
        required=False,
        help_text=gettext_lazy("The customer reads it with your name under it."),
    )

    def __init__(self, *args: Any, page: ComparePage, **kwargs: Any) -> None:
        super().__init__(*args, locale=page.locale, **kwargs)
        self.page = page
        for option in page.options:
            self.fields |= _fields_of(option, page=page)
        for way in page.free_ways:
            self.fields[f"not_offered-{way}"] = LineField(
                label=way.label, max_length=LONGEST_REASON, required=False
            )
        for field in self.fields.values():
            if isinstance(field, NumberField):
                field.locale = page.locale

    @property
    def columns(self) -> list["OptionFields"]:
        """The fields of each option beside its heading."""
        return [OptionFields(self, option) for option in self.page.options]

    @property
    def reasons(self) -> list[forms.BoundField]:
        """Why each of the other ways is not offered."""
        return [self[f"not_offered-{way}"] for way in self.page.free_ways]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for option in self.page.options:
            pick, number = (life_field(option.row.pk, name) for name in ("chance", "number"))
            if cleaned.get(pick) == A_NUMBER and number not in self.errors and not cleaned.get(number):
                self.add_error(number, _("How many of 100 is missing. Give a number from 0.01 to 99.99."))
        return cleaned

    def as_input(self) -> ComparisonInput:
        """What the action needs."""
        typed = self.cleaned_data
        return ComparisonInput(
            look_months=int(typed["look_months"]),
            season_first_month=typed["season_first_month"],
            season_months=int(typed["season_months"]),
            rate=(typed["rate"] or NIL) / 100,
            lost_day=typed["lost_day"] or NIL,
            tow=typed["tow"] or NIL,
            own_word=typed["own_word"],
            not_offered={way: typed[f"not_offered-{way}"] for way in self.page.free_ways},
            lives={option.row.pk: self._life(option) for option in self.page.options},
        )

    def _life(self, option: ComparedOption) -> LifeInput:
        typed: dict[str, Any] = {
            name: self.cleaned_data.get(life_field(option.row.pk, name)) for name in _names_of(option)
        }
        chance, origin, weight = self._chance(typed, option=option)
        rest: dict[str, Any] = {name: bool(typed[name]) for name in TICKS}
        rest |= {name: typed[name] or NIL for name in AMOUNTS if name in typed}
        return LifeInput(
            chance=chance,
            chance_from=origin,
            chance_weight=weight,
            fails_how=typed["fails_how"],
            wears_by=typed["wears_by"],
            follows=int(typed["follows"]) if typed["follows"] else None,
            **rest,
        )

    def _chance(self, typed: Mapping[str, Any], *, option: ComparedOption) -> tuple[Decimal | None, str, int]:
        """The chance, where it comes from, and as how many repairs it weighs."""
        pick, weight = typed["chance"], round(WEIGHT_OF_PRIOR)
        if pick == NOT_COMPARED:
            return None, ChanceFrom.JUDGEMENT, weight
        if pick == A_NUMBER:
            return typed["number"] / 100, ChanceFrom.JUDGEMENT, weight
        if pick in IN_WORDS:
            return Decimal(IN_WORDS[pick][0]) / 10_000, ChanceFrom.JUDGEMENT, weight
        if pick == THE_RECORD and option.record is not None:
            belief = self._belief(option, option.record)
            chance = Decimal(belief.mean).quantize(Decimal("0.0001"))
            return chance, ChanceFrom.RECORD, round(belief.alpha + belief.beta)
        return Decimal(self.page.chances[RepairKind(pick)]) / 10_000, ChanceFrom.COMMON, weight

    def _belief(self, option: ComparedOption, record: RepairRecord) -> Belief:
        """What the record makes of the chance that is usual for the way, over seasons as they are typed."""
        typed = self.cleaned_data
        season = Season(
            handed_over=1, first_month=typed["season_first_month"], months=int(typed["season_months"])
        )
        usual = self.page.chances[KIND_OF_WAY[Way(option.row.way)]]
        clock = CLOCKS[WearsBy(typed[life_field(option.row.pk, "wears_by")])]
        return record.belief(prior=usual / 10_000, clock=clock, season=season)


class OptionFields:
    """The fields of one option, each by its plain name."""

    def __init__(self, form: ComparisonForm, option: ComparedOption) -> None:
        self.option = option
        names = _names_of(option)
        self.by_name = {name: form[life_field(option.row.pk, name)] for name in names}

    def __getattr__(self, name: str) -> forms.BoundField:
        try:
            return self.__dict__["by_name"][name]  # type: ignore[no-any-return]
        except KeyError:
            raise AttributeError(name) from None


def _names_of(option: ComparedOption) -> list[str]:
    names = ["chance", "number", "fails_how", "wears_by", *TICKS, "follows", "damage", "lost_core"]
    return names + list(OF_AN_ENGINE) if option.is_replacing else names


def _fields_of(option: ComparedOption, *, page: ComparePage) -> dict[str, forms.Field]:
    others = [
        (str(one.row.pk), one.row.title)
        for one in page.options
        if one.row.pk != option.row.pk and not one.is_leave
    ]
    fields: dict[str, forms.Field] = {
        "chance": forms.ChoiceField(
            label=gettext_lazy("Of ten like this, how many are back within a season?"),
            choices=_chances(option, page=page),
            required=not option.is_leave,
        ),
        "number": NumberField(
            label=gettext_lazy("How many of 100"),
            decimals=2,
            least=Decimal("0.01"),
            most=Decimal("99.99"),
            required=False,
        ),
        "fails_how": forms.ChoiceField(label=gettext_lazy("When it fails"), choices=FailsHow.choices),
        "wears_by": forms.ChoiceField(label=gettext_lazy("What wears it"), choices=WearsBy.choices),
        "follows": forms.ChoiceField(
            label=gettext_lazy("What is done when it fails"),
            choices=[("", _("the same again")), *others],
            required=False,
        ),
        "damage": _amount(gettext_lazy("What else breaks with it")),
        "lost_core": _amount(gettext_lazy("What the failure spoils of the old part")),
        "resale": _amount(gettext_lazy("Worth more at the end")),
        "trade_in": _amount(gettext_lazy("We give for the old engine")),
        **_ticks(),
    }
    return {life_field(option.row.pk, name): fields[name] for name in _names_of(option)}


def _ticks() -> dict[str, forms.Field]:
    labels = {
        "covers_labour": gettext_lazy("Warranty pays the labour of doing it again"),
        "covers_supplies": gettext_lazy("Warranty pays fluids, freight and fees"),
        "is_pro_rata": gettext_lazy("Warranty pays less the older it is"),
        "laid_up_counts": gettext_lazy("Months laid up count as months of warranty"),
        "cover_renews": gettext_lazy("Warranty begins anew when it is done again"),
    }
    return {name: forms.BooleanField(label=label, required=False) for name, label in labels.items()}


def _amount(label: Any) -> NumberField:
    return NumberField(label=label, decimals=2, least=NIL, required=False)


def _chances(option: ComparedOption, *, page: ComparePage) -> list[tuple[Any, Any]]:
    kinds = [
        (kind.value, _("%(kind)s: %(odds)s") % {"kind": kind.label, "odds": odds_words(chance / 10_000)})
        for kind, chance in page.chances.items()
    ]
    choices: list[tuple[Any, Any]] = [
        (_("Your judgement"), [(code, words) for code, (_chance, words) in IN_WORDS.items()]),
        (A_NUMBER, _("a number…")),
        (_("Common practice, not your record"), kinds),
    ]
    if option.is_leave:
        return [(NOT_COMPARED, _("not compared")), *choices]
    if option.record is None or not option.speaks:
        return choices
    return [(THE_RECORD, _("our own record: %(says)s") % {"says": option.record.says}), *choices]


def comparison_values(choice: QuoteChoice, *, page: ComparePage) -> dict[str, Any]:
    """A question's values by the names of the form's fields; chances not yet given are those of the trade."""
    values: dict[str, Any] = {
        "version": choice.version,
        "look_months": Decimal(choice.look_months),
        "season_first_month": choice.season_first_month,
        "season_months": Decimal(choice.season_months),
        "rate": Decimal(choice.rate_e4) / 100,
        "lost_day": from_minor(choice.lost_day_minor, currency=page.currency),
        "tow": from_minor(choice.tow_minor, currency=page.currency),
        "own_word": choice.own_word,
    }
    values |= {f"not_offered-{way}": choice.not_offered.get(way.value, "") for way in page.free_ways}
    for option in page.options:
        values |= _values_of(option, page=page)
    return values


def _values_of(option: ComparedOption, *, page: ComparePage) -> dict[str, Any]:
    row = option.row
    pick, number = _picked(option, page=page)
    values: dict[str, Any] = {
        "chance": pick,
        "number": number,
        "fails_how": row.fails_how,
        "wears_by": row.wears_by,
        "follows": str(row.follows_id or ""),
        **{name: getattr(row, name) for name in TICKS},
        **{name: from_minor(getattr(row, f"{name}_minor"), currency=page.currency) for name in AMOUNTS},
    }
    return {life_field(row.pk, name): values[name] for name in _names_of(option)}


def _picked(option: ComparedOption, *, page: ComparePage) -> tuple[str, Decimal | None]:
    row = option.row
    if row.chance_e4 is None:
        return (KIND_OF_WAY[Way(row.way)].value if row.way != Way.LEAVE else NOT_COMPARED), None
    if row.chance_from == ChanceFrom.RECORD and option.speaks:
        return THE_RECORD, None
    if row.chance_from == ChanceFrom.COMMON:
        known = {chance: kind.value for kind, chance in page.chances.items()}
    else:
        known = {chance: code for code, (chance, _words) in IN_WORDS.items()}
    if row.chance_e4 in known:
        return known[row.chance_e4], None
    return A_NUMBER, Decimal(row.chance_e4) / 100
