"""The forms of a visit that is open already: its terms, its people, what was written down."""

from collections.abc import Mapping
from typing import Any

from django import forms

from shopapp.actions.arrival_facts import ArrivalFactsInput
from shopapp.models import PartInVisit
from shopapp.queries.visit_people import OnVisit, PeoplePage
from shopapp.queries.visit_terms import TermsPage
from shopapp.web.arrivals.forms_visit import PeopleFields, PromiseField, TermsFields, WrittenFields
from shopapp.web.shared.forms import VersionedForm


class TermsForm(TermsFields, VersionedForm):
    """Terms nobody has signed yet, or the beginning of new ones (version 0)."""

    version = forms.IntegerField(widget=forms.HiddenInput, min_value=0, max_value=2_000_000_000)

    def __init__(self, *args: Any, page: TermsPage, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.update(page.values, version=page.version)


class PeopleForm(PeopleFields):
    """Who is on the visit now."""

    def __init__(self, data: Any, *, page: PeoplePage, locale: str) -> None:
        super().__init__(data, locale=locale)
        self.offer_payers(page.payers)
        self.initial["purchase_order"] = page.purchase_order
        for one in page.people:
            self.initial.update(_initial(one))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        self.check_people()
        return cleaned


class ArrivalFactsForm(WrittenFields, VersionedForm):
    """What was written down at the arrival; where things are now is written into the log of in and out."""

    promised_date = PromiseField()

    def as_input(self) -> ArrivalFactsInput:
        """What was typed."""
        names = ("promised_date", "fuel", "keys_tag", "trailer", "loose_gear", "arrival_state")
        return ArrivalFactsInput(**{name: self.cleaned_data[name] for name in names})


def _initial(one: OnVisit) -> Mapping[str, Any]:
    if one.part == PartInVisit.PAYER:
        return {"payer": one.name, "payer_pk": str(one.customer_pk)}
    return {f"{one.part}_name": one.name, f"{one.part}_phone": one.phone, f"{one.part}_up_to": one.up_to}
