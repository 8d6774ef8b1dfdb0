"""The form of a tick at the bench: which step, and of a joint which stage and fastener."""

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.step_ticks import TickInput
from shopapp.web.bench.forms import EntryForm

MOST_ID = 2_000_000_000


class TickForm(EntryForm):
    """A step was done, or a stage of a joint, or one fastener by its number in the stage's order."""

    kind = "tick"
    step = forms.IntegerField(label=_("Step"), min_value=1, max_value=MOST_ID, widget=forms.HiddenInput)
    stage = forms.IntegerField(
        label=_("Stage"), min_value=1, max_value=60, required=False, widget=forms.HiddenInput
    )
    fastener = forms.IntegerField(
        label=_("Fastener"), min_value=1, max_value=60, required=False, widget=forms.HiddenInput
    )

    def as_input(self) -> TickInput:
        data = self.cleaned_data
        return TickInput(step=data["step"], stage=data["stage"], fastener=data["fastener"])
