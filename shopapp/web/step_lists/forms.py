"""The form of a step list: its title, and a row of fields for each step."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from shopapp.actions.step_lists import MOST_LINES, LineInput, ListInput
from shopapp.actions.steps import LONGEST_STEP
from shopapp.models import StepCaution, StepList
from shopapp.queries.step_pages import lines_of
from shopapp.web.shared.forms import ShopForm
from shopapp.web.shared.text_fields import LineField

NUMBERS = tuple(range(1, MOST_LINES + 1))
# empty rows below those that are filled in
SPARE = 4


class StepListForm(ShopForm):
    """A list. Its steps are rows of fields, ``line_1_text`` and so on; a row without words is left out."""

    title = LineField(
        label=_("Kind of job"), max_length=120, help_text=_("For example: gear oil change, lower unit off.")
    )
    is_active = forms.BooleanField(label=_("Offered for jobs"), required=False, initial=True)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for number in NUMBERS:
            self.fields |= _row(number)

    @property
    def rows(self) -> list[dict[str, Any]]:
        """The fields of each step: those filled in, and some spare ones."""
        filled = [number for number in NUMBERS if self[f"line_{number}_text"].value()]
        last = min((filled[-1] if filled else 0) + SPARE, MOST_LINES)
        names = ("text", "required", "joint", "caution")
        return [
            {"number": number, **{name: self[f"line_{number}_{name}"] for name in names}}
            for number in NUMBERS[:last]
        ]

    def as_input(self) -> ListInput:
        data = self.cleaned_data
        return ListInput(
            title=data["title"],
            is_active=data["is_active"],
            lines=tuple(
                LineInput(
                    text=data[f"line_{number}_text"],
                    is_required=data[f"line_{number}_required"],
                    joint=data[f"line_{number}_joint"],
                    caution=StepCaution(data[f"line_{number}_caution"]),
                )
                for number in NUMBERS
                if data[f"line_{number}_text"]
            ),
        )


class EditStepListForm(StepListForm):
    """The same, of a list that is there already."""

    version = forms.IntegerField(widget=forms.HiddenInput, min_value=1, max_value=2_000_000_000)


def list_values(row: StepList) -> Mapping[str, Any]:
    """A list by the names of its form's fields."""
    values: dict[str, Any] = {"title": row.title, "is_active": row.is_active}
    lines = dict(enumerate(lines_of(row), start=1))
    for number in NUMBERS:
        line = lines.get(number)
        values |= {
            f"line_{number}_text": line.text if line is not None else "",
            f"line_{number}_required": line.is_required if line is not None else False,
            f"line_{number}_joint": line.joint if line is not None else "",
            f"line_{number}_caution": line.caution if line is not None else "",
        }
    return values


def _row(number: int) -> dict[str, forms.Field]:
    named = {"number": number}
    return {
        f"line_{number}_text": LineField(
            label=_now("Step %(number)s") % named, max_length=LONGEST_STEP, required=False
        ),
        f"line_{number}_required": forms.BooleanField(
            label=_now("Step %(number)s is required") % named, required=False
        ),
        f"line_{number}_joint": LineField(
            label=_now("Joint of step %(number)s") % named, max_length=120, required=False
        ),
        f"line_{number}_caution": forms.TypedChoiceField(
            label=_now("Caution beside step %(number)s") % named,
            choices=StepCaution,
            required=False,
            empty_value="",
        ),
    }
