"""The form of the shop's season and starting chances, said as "1 in so many"."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms

from shopapp.actions.shop_chances import ChancesInput
from shopapp.models import RepairKind, Shop
from shopapp.queries.starting_chances import starting_chances
from shopapp.web.shared.forms import NumberField
from shopapp.web.shared.seasons import SeasonForm


class ChancesForm(SeasonForm):
    """When boats run here, and for each kind of repair of how many one is back within a season."""

    def __init__(self, *args: Any, locale: str, **kwargs: Any) -> None:
        super().__init__(*args, locale=locale, **kwargs)
        for kind in RepairKind:
            odds = NumberField(label=kind.label, decimals=1, least=Decimal("1.1"), most=Decimal(1_000))
            odds.locale = locale
            self.fields[kind.value] = odds

    @property
    def kinds(self) -> list[forms.BoundField]:
        """The fields of the kinds of repair."""
        return [self[kind.value] for kind in RepairKind]

    def as_input(self) -> ChancesInput:
        """What the action needs."""
        typed = self.cleaned_data
        return ChancesInput(
            season_first_month=typed["season_first_month"],
            season_months=int(typed["season_months"]),
            chances={kind.value: 1 / typed[kind.value] for kind in RepairKind},
        )


def chances_values(row: Shop) -> Mapping[str, Any]:
    """What is in force by the names of the form's fields."""
    odds = {
        kind.value: (10_000 / Decimal(chance)).quantize(Decimal("0.1"))
        for kind, chance in starting_chances(row).items()
    }
    season: dict[str, Any] = {
        "season_first_month": row.season_first_month,
        "season_months": Decimal(row.season_months),
    }
    return season | odds
