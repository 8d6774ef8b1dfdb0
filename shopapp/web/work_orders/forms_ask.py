"""Forms of the pages that ask one thing about a visit or a job."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.holds import ChaseInput, HoldInput
from shopapp.actions.job_endings import BackInput, EndInput, WaiveInput
from shopapp.actions.job_settings import CauseInput, JobInput, SettingsInput
from shopapp.actions.jobs import LimitInput
from shopapp.actions.work_orders import CancelInput, ReleaseInput
from shopapp.models import Hold, Job, Outcome, Payer, PriceKind, Stage, TestKind
from shopapp.web.shared.forms import NumberField, ShopForm, VersionedForm
from shopapp.web.shared.text_fields import LineField, StoryField
from shopapp.web.work_orders.forms import LONGEST_TEXT, offer

type Choices = Sequence[tuple[Any, Any]]
WHOLE_VISIT, BOAT_ITSELF, NO_JOB = (
    ("", _("The whole visit")),
    ("", _("The boat itself")),
    ("", _("None: it is a new fault")),
)
YES, NO = "yes", "no"
SAME_CAUSE = (
    (YES, _("Yes, for the same cause")),
    (NO, _("No, another trouble because of our work")),
    ("", _("Not judged yet")),
)


def cause_initial(job: Job) -> dict[str, Any]:
    """What the form about a job's cause begins with."""
    word = {True: YES, False: NO, None: ""}[job.is_for_same_cause]
    return {"job": job.caused_by_job_id or "", "same_cause": word, "version": job.version}


def day_field(**more: Any) -> forms.DateField:
    """A day, typed or picked."""
    return forms.DateField(
        input_formats=["%Y-%m-%d"],
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": _("This is not a day. Write it like 2026-06-30.")},
        **more,
    )


def row_field(**more: Any) -> forms.TypedChoiceField:
    """One of several rows by its number, or none of them."""
    return forms.TypedChoiceField(coerce=int, empty_value=None, **more)


class ChoiceForm(ShopForm):
    """A form whose choices come from the page: ``offers`` names fields and what can be chosen."""

    def __init__(self, *args: Any, offers: Mapping[str, Choices], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, choices in offers.items():
            if name in self.fields:
                offer(self, name, choices)


class NewHoldForm(ChoiceForm):
    """What a visit waits for, who chases it and when next."""

    kind = forms.TypedChoiceField(label=_("What does it wait for?"), coerce=Hold)
    job = row_field(label=_("Which job waits?"), required=False)
    note = LineField(
        label=_("What exactly?"),
        max_length=300,
        required=False,
        help_text=_("For example: seal kit, ordered from Norsk Tern on Monday."),
    )
    chaser = row_field(label=_("Who chases it?"))
    chase_date = day_field(label=_("When next?"))

    def as_input(self) -> HoldInput:
        return HoldInput(**self.cleaned_data)


class HoldForm(ChoiceForm, VersionedForm):
    """What came of chasing, and when it is chased next."""

    note = LineField(label=_("What came of it?"), max_length=300, required=False)
    chaser = row_field(label=_("Who goes on chasing?"))
    chase_date = day_field(label=_("When next?"))

    def as_input(self) -> ChaseInput:
        typed = self.cleaned_data
        return ChaseInput(note=typed["note"], chaser=typed["chaser"], chase_date=typed["chase_date"])


class JobSettingFields(ChoiceForm):
    """On which engine, how it is proved, how and to whom it is billed."""

    engine = row_field(label=_("On which engine?"), required=False)
    test_kind = forms.TypedChoiceField(label=_("Test that proves it"), choices=TestKind, coerce=TestKind)
    price_kind = forms.TypedChoiceField(
        label=_("How is it billed?"),
        choices=PriceKind,
        coerce=PriceKind,
        help_text=_("The customer reads this on the quote. It can't be changed once they have it."),
    )
    payer = forms.TypedChoiceField(label=_("Who usually pays?"), choices=Payer, coerce=Payer)

    def keep_to_bench(self) -> None:
        """Take away what is the desk's to say."""
        del self.fields["price_kind"], self.fields["payer"]


class NewJobForm(JobSettingFields):
    """One more thing to put right."""

    complaint = StoryField(label=_("What is wrong?"), max_length=LONGEST_TEXT)
    field_order = ["complaint", "engine", "test_kind", "price_kind", "payer"]

    def as_input(self) -> JobInput:
        return JobInput(**self.cleaned_data)


class SettingsForm(JobSettingFields, VersionedForm):
    """How a job is set."""

    def as_input(self) -> SettingsInput:
        typed = self.cleaned_data
        return SettingsInput(
            engine=typed["engine"],
            price_kind=typed["price_kind"],
            test_kind=typed["test_kind"],
            payer=typed["payer"],
        )


class EndingForm(ChoiceForm):
    """How a job ends that is not done, and why."""

    outcome = forms.TypedChoiceField(label=_("How does it end?"), coerce=Outcome, widget=forms.RadioSelect)
    reason = LineField(label=_("Why?"), max_length=300)

    def as_input(self) -> EndInput:
        return EndInput(**self.cleaned_data)


class WayBackForm(ChoiceForm):
    """Where a job goes back to, and why."""

    to = forms.TypedChoiceField(label=_("Back to which stage?"), coerce=Stage, widget=forms.RadioSelect)
    reason = LineField(label=_("Why?"), max_length=300)

    def as_input(self) -> BackInput:
        return BackInput(**self.cleaned_data)


class WaiverForm(ShopForm):
    """Why a job may go without its test."""

    reason = LineField(label=_("Why may it go without the test?"), max_length=300)

    def as_input(self) -> WaiveInput:
        return WaiveInput(**self.cleaned_data)


class LimitForm(ShopForm):
    """What small work will come to at most."""

    amount = NumberField(
        label=_("At most how much, without tax?"), decimals=2, least=Decimal("0.01"), most=Decimal(1_000_000)
    )

    def as_input(self) -> LimitInput:
        return LimitInput(**self.cleaned_data)


class CauseForm(ChoiceForm, VersionedForm):
    """The earlier job that this one comes from."""

    job = row_field(label=_("Which earlier job does it come from?"), required=False, widget=forms.RadioSelect)
    same_cause = forms.TypedChoiceField(
        label=_("Is it the same trouble again?"),
        choices=SAME_CAUSE,
        coerce=lambda word: word == YES,
        empty_value=None,
        required=False,
        widget=forms.RadioSelect,
        help_text=_("Only the same trouble counts against that way of putting it right."),
    )

    def as_input(self) -> CauseInput:
        typed = self.cleaned_data
        return CauseInput(job=typed["job"], is_for_same_cause=typed["same_cause"])


class CallingOffForm(ShopForm):
    """Why a visit is called off."""

    reason = LineField(label=_("Why is the visit called off?"), max_length=300)
    gone_to = LineField(
        label=_("Who takes the boat home?"),
        max_length=120,
        required=False,
        help_text=_("Needed when the boat, its keys or its gear are here."),
    )

    def as_input(self) -> CancelInput:
        return CancelInput(**self.cleaned_data)


class ReleaseForm(ShopForm):
    """Why the owner lets a boat go before it is paid."""

    gone_to = LineField(label=_("Who takes the boat?"), max_length=120)
    reason = LineField(label=_("Why may it go before it is paid?"), max_length=300)

    def as_input(self) -> ReleaseInput:
        return ReleaseInput(**self.cleaned_data)
