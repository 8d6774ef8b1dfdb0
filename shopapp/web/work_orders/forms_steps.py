"""Forms by which steps come onto a job and are ticked at the desk."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.step_ticks import TickInput
from shopapp.actions.steps import LONGEST_REASON, LONGEST_STEP, JointInput, StepInput
from shopapp.models import StepCaution
from shopapp.queries.step_pages import StepsPage
from shopapp.web.shared.text_fields import LineField
from shopapp.web.work_orders.forms import PageForm, offer


def _required() -> forms.BooleanField:
    return forms.BooleanField(label=_("The job is not ready without it"), required=False, initial=True)


class AddStepForm(PageForm):
    """A step in the person's own words."""

    ids = "step"
    text = LineField(label=_("What must be done"), max_length=LONGEST_STEP)
    caution = forms.TypedChoiceField(
        label=_("Caution beside it"), choices=StepCaution, coerce=StepCaution, required=False, empty_value=""
    )
    is_required = _required()

    def as_input(self) -> StepInput:
        data = self.cleaned_data
        return StepInput(
            text=data["text"], is_required=data["is_required"], caution=StepCaution(data["caution"])
        )


class AddStepListForm(PageForm):
    """A list of the shop."""

    ids = "step_list"
    list = forms.TypedChoiceField(label=_("List"), coerce=int)

    def __init__(self, *args: Any, page: StepsPage, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer(self, "list", list(page.lists))


class AddJointForm(PageForm):
    """A joint of the engine's family."""

    ids = "joint"
    spec = forms.TypedChoiceField(label=_("Joint"), coerce=int)
    is_required = _required()

    def __init__(self, *args: Any, page: StepsPage, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer(self, "spec", list(page.joints))

    def as_input(self) -> JointInput:
        return JointInput(spec=self.cleaned_data["spec"], is_required=self.cleaned_data["is_required"])


class DeskTickForm(PageForm):
    """Of a joint the stage, and the fastener that the pressed button names; none: the whole stage."""

    ids = "tick"
    stage = forms.IntegerField(label=_("Stage"), min_value=1, max_value=60, required=False)
    fastener = forms.IntegerField(label=_("Fastener"), min_value=1, max_value=60, required=False)

    def as_input(self, step: int) -> TickInput:
        return TickInput(step=step, stage=self.cleaned_data["stage"], fastener=self.cleaned_data["fastener"])


class WaiveStepForm(PageForm):
    """Why the owner lets the job go without a step."""

    ids = "waive"
    reason = LineField(label=_("Why the job may go without it"), max_length=LONGEST_REASON)
