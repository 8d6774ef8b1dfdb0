"""The form of a call slip, and the words with which one is ticked off."""

from collections.abc import Mapping
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from shopapp.actions.calls import CallInput
from shopapp.models import CallSlip
from shopapp.queries.calls import CallPage
from shopapp.web.shared.forms import ShopForm, VersionedForm
from shopapp.web.shared.moments import MomentField
from shopapp.web.shared.text_fields import LineField


class CallForm(ShopForm):
    """Who rang, about what, and until when somebody calls back."""

    name = LineField(
        label=_("Who rang?"), max_length=120, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    phone = LineField(
        label=_("Telephone"),
        max_length=40,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "tel", "autocomplete": "off"}),
    )
    about = LineField(label=_("What about?"), max_length=300)
    call_by_at = MomentField(label=_("Call back by"), required=False)
    for_person = forms.ChoiceField(label=_("Who calls back?"), required=False)

    def __init__(
        self, data: QueryDict | None, *, page: CallPage, time_zone: str, locale: str, **kwargs: Any
    ) -> None:
        super().__init__(data, locale=locale, **kwargs)
        self.page = page
        self.fields["call_by_at"].zone = ZoneInfo(time_zone)  # type: ignore[attr-defined]
        people = [(str(person.pk), person.name) for person in page.people]
        self.fields["for_person"].choices = [("", str(_("whoever is free"))), *people]  # type: ignore[attr-defined]
        self.fields["about" if page.name else "name"].widget.attrs["autofocus"] = True

    def as_input(self) -> CallInput:
        """What the action needs; what the slip belongs to is known by the page."""
        typed = self.cleaned_data
        return CallInput(
            name=typed["name"],
            phone=typed["phone"],
            about=typed["about"],
            call_by_at=typed["call_by_at"],
            for_person=int(typed["for_person"]) if typed["for_person"] else None,
            customer=self.page.customer_pk,
            work_order=self.page.work_order_pk,
        )


class CallEditForm(VersionedForm, CallForm):
    """The same of a slip that is there already."""


def call_values(row: CallSlip) -> Mapping[str, Any]:
    """A slip's values by the names of the form's fields."""
    return {
        "name": row.name,
        "phone": row.phone,
        "about": row.about,
        "call_by_at": row.call_by_at,
        "for_person": str(row.for_person_id or ""),
    }


class CloseForm(ShopForm):
    """What came of the call, if anything is worth a word."""

    answer = LineField(label=_("What came of it?"), max_length=300, required=False)
