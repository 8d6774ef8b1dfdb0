"""Forms of the work orders room: text becomes exact values, nothing is saved here."""

from collections.abc import Sequence
from typing import Any, ClassVar, cast

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.dock_calls import HandOutInput
from shopapp.actions.jobs import SHOWN_ON_QUOTES, FindingsInput
from shopapp.actions.work_orders import AssignInput, HandBackInput, TellInput
from shopapp.models import Job, TestKind, ToldHow
from shopapp.queries.devices import Tablet
from shopapp.queries.people import Colleague
from shopapp.web.shared.forms import ShopForm, VersionedForm
from shopapp.web.shared.test_forms import RunForm
from shopapp.web.shared.text_fields import LineField, StoryField

LONGEST_TEXT = 4_000


def offer(form: forms.Form, name: str, choices: Sequence[tuple[Any, Any]]) -> None:
    """Give a field of choices what can be chosen."""
    cast("forms.ChoiceField", form.fields[name]).choices = choices


class PageForm(ShopForm):
    """One of several forms on a page: its ids begin with a word of its own."""

    ids: ClassVar[str]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("auto_id", f"{self.ids}_%s")
        super().__init__(*args, **kwargs)


class AssignForm(PageForm):
    """A technician to put on a job, or to take off it."""

    ids = "assign"
    person = forms.TypedChoiceField(label=_("Technician"), coerce=int)
    take_off = forms.BooleanField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, people: Sequence[Colleague], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer(self, "person", [(person.pk, person.name) for person in people])

    def as_input(self) -> AssignInput:
        return AssignInput(person_pk=self.cleaned_data["person"], is_on=not self.cleaned_data["take_off"])


class TellForm(PageForm):
    """How the customer was told."""

    ids = "tell"
    how = forms.TypedChoiceField(label=_("How was the customer told?"), choices=ToldHow, coerce=ToldHow)

    def as_input(self) -> TellInput:
        return TellInput(how=self.cleaned_data["how"])


class HandOutForm(PageForm):
    """To whom, and to which tablet, the visit is handed out for the day."""

    ids = "hand_out"
    person = forms.TypedChoiceField(label=_("Technician"), coerce=int)
    device = forms.TypedChoiceField(label=_("Tablet"), coerce=int)

    def __init__(
        self, *args: Any, people: Sequence[Colleague], tablets: Sequence[Tablet], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        offer(self, "person", [(person.pk, person.name) for person in people])
        offer(self, "device", [(tablet.pk, tablet.name) for tablet in tablets])

    def as_input(self) -> HandOutInput:
        return HandOutInput(person=self.cleaned_data["person"], device=self.cleaned_data["device"])


class HandBackForm(PageForm):
    """Who takes the boat home."""

    ids = "hand_back"
    gone_to = LineField(
        label=_("Who takes the boat?"),
        max_length=120,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def as_input(self) -> HandBackInput:
        return HandBackInput(gone_to=self.cleaned_data["gone_to"])


def findings_of(job: Job) -> dict[str, Any]:
    """What a job holds, by the names of the form's fields."""
    return {name: getattr(job, name) for name in ("complaint", "cause", "correction", "test_kind")}


class FindingsForm(VersionedForm):
    """Complaint, cause, correction, and the test that fits.

    With ``is_shown`` a customer has complaint and cause on a quote: they can be read, not written.
    """

    complaint = StoryField(
        label=_("What the customer says is wrong"),
        max_length=LONGEST_TEXT,
        help_text=_("In the customer's own words."),
    )
    cause = StoryField(
        label=_("What is really wrong"),
        max_length=LONGEST_TEXT,
        required=False,
        help_text=_("What was looked at, what was measured, what it means."),
    )
    correction = StoryField(
        label=_("What puts it right"),
        max_length=LONGEST_TEXT,
        required=False,
        help_text=_("What is to be done, and after the work: what was done."),
    )
    test_kind = forms.TypedChoiceField(
        label=_("Test that proves it"), choices=TestKind, coerce=TestKind, widget=forms.RadioSelect
    )

    def __init__(self, *args: Any, is_shown: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if is_shown:
            for name in SHOWN_ON_QUOTES:
                self.fields[name].widget.attrs["readonly"] = True

    def as_input(self) -> FindingsInput:
        data = self.cleaned_data
        return FindingsInput(
            complaint=data["complaint"],
            cause=data["cause"],
            correction=data["correction"],
            test_kind=data["test_kind"],
        )


class PhotoForm(PageForm):
    """A photo and what it shows."""

    ids = "photo"
    photo = forms.FileField(
        label=_("Photo"),
        widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp", "data-photo-pick": ""}),
    )
    caption = LineField(label=_("What does it show?"), max_length=200, required=False)


class RecordTestForm(RunForm, PageForm):
    """The verdict of a test, with the figures of its run."""

    ids = "test"
