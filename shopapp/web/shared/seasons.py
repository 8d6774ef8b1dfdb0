"""When boats run: the two fields of a season, with the months named as the shop writes them."""

from decimal import Decimal
from typing import Any, cast

from babel.dates import get_month_names
from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.web.shared.forms import NumberField, VersionedForm

MONTHS = 12


class SeasonForm(VersionedForm):
    """In which month the season begins, and how many months it lasts."""

    season_first_month = forms.TypedChoiceField(label=_("Season begins in"), coerce=int)
    season_months = NumberField(
        label=_("Length of the season"), decimals=0, least=Decimal(1), most=Decimal(MONTHS)
    )

    def __init__(self, *args: Any, locale: str, **kwargs: Any) -> None:
        super().__init__(*args, locale=locale, **kwargs)
        names = get_month_names("wide", locale=locale)
        begins = cast("forms.ChoiceField", self.fields["season_first_month"])
        begins.choices = [(month, names[month]) for month in range(1, MONTHS + 1)]
